"""What the bench sees of a virtual part: pins, converters, films and welds; and that time can be cut anywhere."""

import random
from functools import partial
from itertools import pairwise

import pytest
from plant_steps import BOTH, code, held, loaded, make_and_break, specimen, switched
from work_time import within

from pulldrop.plant.bench.bench import Bench, PinEdge, Pins
from pulldrop.plant.bench.frontend import Frontend, drawn
from pulldrop.plant.relay.relay import NC, NO

A10 = 4


def test_a_burnt_contact_changes_no_timing_but_drops_volts() -> None:
    burnt = specimen(contact_no={"crust_mohm": 40.0})
    assert make_and_break(burnt)[0].edges == make_and_break(specimen())[0].edges
    assert loaded(held(specimen()), NO, A10)[0] < 0.05
    assert loaded(held(burnt), NO, A10)[0] > 0.2


def test_a_burnt_contact_drops_another_amount_with_every_make_and_the_same_within_one() -> None:
    bench = Bench(specimen(contact_no={"crust_mohm": 40.0, "pitting_scatter": 0.4}), 1)
    drops = []
    for _ in range(5):
        switched(bench, True, 13.5)
        bench.advance(bench.time_s + 0.1)
        first, again = loaded(bench, NO, A10)[0], loaded(bench, NO, A10)[0]
        assert first == pytest.approx(again, abs=0.5e-3)
        drops.append(first)
        switched(bench, False, 13.5)
    assert max(drops) > 1.2 * min(drops)


def test_a_filmed_contact_clicks_and_carries_nothing() -> None:
    filmed = specimen(contact_no={"film_ohm": 25.0, "film_breaks_v": 30.0})
    assert make_and_break(filmed)[0].operate_ms == make_and_break(specimen())[0].operate_ms
    volts, amps = loaded(held(filmed), NO, A10)
    assert volts > 1.0 and amps < 1.0


def test_a_thin_film_is_broken_by_the_first_load_and_not_by_the_dry_source() -> None:
    bench = held(specimen(contact_no={"film_ohm": 3.0, "film_breaks_v": 0.1}))
    bench.advance(2.0)
    dry = bench.ads_counts("no", 5) * 0.256 / 32768
    assert dry == pytest.approx(3.0 * 5 / 1028, rel=0.05)
    assert loaded(bench, NO, A10)[0] < 0.05
    assert bench.ads_counts("no", 5) * 0.256 / 32768 < 0.1 * dry


def test_a_contact_with_a_thick_film_is_not_seen_to_close() -> None:
    bench = held(specimen(contact_no={"film_ohm": 5000.0, "film_breaks_v": 30.0}))
    assert bench.relay.touching[NO]
    assert bench.closed() == 0


def test_a_welded_no_reads_closed_at_rest_and_nc_stays_open() -> None:
    bench = Bench(specimen(faults={"welded": "contact_no"}), None)
    bench.drive(Pins(dry=BOTH))
    bench.advance(0.1)
    assert bench.closed() == 1


def test_a_welded_nc_stays_closed_when_the_coil_is_on() -> None:
    assert held(specimen(faults={"welded": "contact_nc"})).closed() & 2


def test_a_weak_weld_is_torn_open_by_the_springs() -> None:
    torn = Bench(specimen(faults={"welded": "contact_no", "weld_n": 0.05}), None)
    torn.drive(Pins(dry=BOTH))
    torn.advance(0.1)
    assert torn.closed() == 2


def test_a_reversed_diode_draws_the_supplys_limit_and_leaves_0_7_volts() -> None:
    around = held(specimen(suppression={"kind": "diode", "reversed": True}), 12.0).relay.circuit()
    assert around.supply_a == pytest.approx(0.3, abs=0.005)
    assert 0.6 < around.plus_v - around.low_side_v < 1.0


def test_an_open_coil_draws_nothing_and_one_behind_a_resistor_draws_the_resistors_current() -> None:
    bench = held(specimen(faults={"coil_open": True}), 12.0)
    assert bench.ina_counts()[1] == round(12 / 830e3 / 25e-6), "the bus input of the INA226 alone"
    assert bench.closed() == 2
    behind = specimen(faults={"coil_open": True}, suppression={"kind": "resistor", "resistor_ohm": 680.0})
    assert held(behind, 12.0).ina_counts()[1] * 25e-6 == pytest.approx(12 / 681, rel=0.01)


def test_a_throw_that_no_source_feeds_shows_by_the_pull_up_of_its_pin() -> None:
    bench = Bench(specimen(), None)
    assert bench.closed() == 2
    assert bench.ads_counts("nc", 5) == 0, "20 uA over a few milliohm"
    bench.drive(Pins(dry=2))
    assert bench.closed() == 2
    assert bench.advance(0.2) == []
    filmed = Bench(specimen(contact_nc={"film_ohm": 5000.0, "film_breaks_v": 30.0}), None)
    assert filmed.closed() == 2, "0.6 V: 20 uA see no film"
    filmed.drive(Pins(dry=2))
    assert filmed.closed() == 0
    assert filmed.advance(0.1) == [PinEdge(pytest.approx(1.05e-6), NC, False)]


def test_a_loaded_throw_that_hardly_conducts_floats_to_the_followers_volts() -> None:
    bench = held(specimen(contact_no={"bulk_mohm": 30e3}))
    bench.drive(Pins(lamp=True, branches=A10, throws=1, coil=True, dac=bench.pins.dac))
    bench.advance(bench.time_s + 0.01)
    assert bench.ads_counts("no", 1) * 4.096 / 32768 == pytest.approx(3.5, abs=0.01)
    assert bench.closed() == 0


def test_an_open_loaded_throw_is_pulled_up_beyond_the_followers_volts() -> None:
    bench = Bench(specimen(), None)
    bench.drive(Pins(branches=A10, throws=1))
    bench.advance(0.01)
    assert bench.ads_counts("no", 1) == 32767
    assert not bench.closed() & 1


def test_the_load_current_is_the_supply_over_the_branch() -> None:
    for branches, amps in ((1, 1.0), (2, 5.0), (4, 10.0), (8, 20.0)):
        assert loaded(held(specimen()), NO, branches)[1] == pytest.approx(amps, rel=0.05)


def test_cutting_an_advance_into_pieces_changes_nothing() -> None:
    whole, cut, chance = Bench(specimen(), 3), Bench(specimen(), 3), random.Random(5)
    for coil in (True, False, True, False):
        start = whole.time_s
        for bench in (whole, cut):
            bench.drive(Pins(lamp=True, dac=code(13.5), coil=coil, diode=coil, dry=BOTH))
        expected = whole.advance(start + 0.03)
        found, to = [], start
        while to < start + 0.03:
            to = min(to + chance.expovariate(1 / 70e-6), start + 0.03)
            found += cut.advance(to)
        assert [(e.throw, e.closed) for e in found] == [(e.throw, e.closed) for e in expected]
        for one, other in zip(found, expected, strict=True):
            assert one.time_s == pytest.approx(other.time_s, abs=1e-6)
        assert cut.relay.i == pytest.approx(whole.relay.i, abs=1e-6)


def test_an_edge_is_never_told_before_the_moment_asked_for_nor_twice() -> None:
    bench = Bench(specimen(), None)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH))
    told, before = [], 0.0
    for step in range(1, 400):
        edges = bench.advance(step * 50e-6)
        assert all(before <= edge.time_s <= bench.time_s for edge in edges)
        told += edges
        before = bench.time_s
    for throw in (NO, NC):
        states = [edge.closed for edge in told if edge.throw == throw]
        assert all(one != other for one, other in pairwise(states))


def test_a_bench_taken_back_to_a_snapshot_does_the_same_again() -> None:
    bench = Bench(specimen(contact_no={"pitting_mohm": 20.0}), 11)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH))
    bench.advance(4.321e-3)
    kept = bench.snapshot()
    runs = []
    for _ in range(2):
        bench.restore(kept)
        edges = bench.advance(0.1)
        runs.append((edges, bench.adc_counts(0), bench.ina_counts(), loaded(bench, NO, A10), bench.relay.i))
    assert runs[0] == runs[1]
    assert runs[0][0]


def test_the_same_seed_is_the_same_bench_and_no_seed_is_a_perfect_one() -> None:
    assert drawn(4) == drawn(4) != drawn(5)
    assert drawn(None) == Frontend()
    first, second = (held(specimen(), seed=9) for _ in range(2))
    assert [first.adc_counts(0) for _ in range(9)] == [second.adc_counts(0) for _ in range(9)]


@pytest.mark.parametrize("seed", range(20))
def test_every_bench_is_within_its_parts_limits(seed: int) -> None:
    front = drawn(seed)
    assert abs(front.vcc_v - 5.01) <= 0.2
    assert abs(front.tick) <= 0.005
    assert 20.0 <= front.temperature_c <= 25.0
    assert abs(front.coil_v(1843) / 13.5 - 1) < 0.002 + 0.04 + 0.021 + 37 / 1843


def an_hour(bench: Bench) -> list[PinEdge]:
    return bench.advance(bench.time_s + 3600.0)


def test_a_settled_relay_lets_an_hour_pass_in_no_time() -> None:
    for at_rest in (held(specimen(coil={"heating_k_per_w": 0.0})), held(specimen(), volts=0.0)):
        assert at_rest.relay.still
        assert within(0.01, partial(an_hour, at_rest)) == []


def test_a_coil_that_warms_up_is_still_once_it_is_warm() -> None:
    bench = held(specimen(coil={"heating_s": 5.0}))
    assert not bench.relay.still
    bench.advance(300.0)
    assert bench.relay.still


def test_the_current_of_a_calm_coil_is_told_along_a_line_as_it_is_step_by_step() -> None:
    for volts in (13.5, 0.0):
        once, stepped = (Bench(specimen(), None) for _ in range(2))
        for bench in (once, stepped):
            switched(bench, True, 13.5)
            bench.advance(1.0)
            bench.drive(Pins(lamp=True, dac=code(volts), coil=bool(volts)))
            bench.advance(1.5)
            assert bench.relay.quiet
        times_s = [1.5 + i * 1e-4 for i in range(1, 101)]
        volts_v = [stepped.adc_volts(0)]
        for at in times_s:
            stepped.advance(at)
            volts_v.append(stepped.adc_volts(0))
        edges, (first_v, last_v) = once.advance_through(times_s[-1:])
        line_v = [first_v + (last_v - first_v) * i / 100 for i in range(101)]
        assert edges == [] and line_v == pytest.approx(volts_v, abs=1e-4)  # a converter's step is 5 mV
