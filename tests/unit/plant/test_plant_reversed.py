"""Coil leads exchanged at the virtual bench: a sound part minds neither polarity, magnetised iron minds one."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plant_steps import BOTH, code, drop_out, held, make_and_break, specimen

from pulldrop.plant.bench.bench import Bench, Pins
from pulldrop.plant.relay.iron import traced
from pulldrop.plant.specimen import Specimen

NOMINAL_A, KEPT_A = 200.0, 40.0
HELD = {"residual_mmf_a": 75.0}
fields = st.floats(-500.0, 500.0)


def pulse(bench: Bench, volts: float, on_s: float = 0.1) -> None:
    bench.drive(Pins(lamp=True, dac=code(volts), coil=True, dry=BOTH))
    bench.advance(bench.time_s + on_s)
    bench.drive(Pins(dry=BOTH))
    bench.advance(bench.time_s + 0.1)


def operated_once(part: Specimen) -> Bench:
    bench = Bench(part, None)
    pulse(bench, 12.0)
    return bench


@pytest.mark.parametrize("suppression", [{"kind": "none"}, {"kind": "resistor", "resistor_ohm": 680.0}])
def test_a_sound_part_operates_and_lets_go_alike_with_its_leads_exchanged(suppression: dict[str, object]) -> None:
    part = specimen(suppression=suppression)
    usual, _, bench = make_and_break(part, 13.5)
    turned = Bench(part, None)
    turned.exchange_leads(True)
    turned.drive(Pins(lamp=True, dac=code(13.5), dry=BOTH))
    turned.advance(0.1)
    turned.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH))
    edges = [edge for edge in turned.advance(0.14) if edge.throw == 0 and edge.closed]
    assert (edges[0].time_s - 0.1) * 1e3 == pytest.approx(usual.operate_ms, abs=1e-6)
    turned.drive(Pins(dry=BOTH))
    turned.advance(0.3)
    assert turned.closed() == bench.closed() == 2


def test_a_part_that_stays_operated_lets_go_when_the_reversed_current_cancels_what_its_iron_keeps() -> None:
    bench = operated_once(specimen(coil=HELD))
    assert bench.closed() == 1
    bench.exchange_leads(True)
    let_go = []
    for volts in (0.6, 1.2, 1.8, 2.4):
        pulse(bench, volts)
        let_go.append(bench.closed() == 2)
    assert let_go == [False, True, True, True]


def test_the_same_pulses_with_the_leads_left_alone_do_not_make_it_let_go() -> None:
    bench = operated_once(specimen(coil=HELD))
    for volts in (0.6, 1.2, 1.8, 2.4, 6.0):
        pulse(bench, volts)
    assert bench.closed() == 1


def test_a_part_whose_hinge_jams_does_not_let_go_on_a_reversed_pulse() -> None:
    bench = Bench(specimen(faults={"stuck": "operated"}), None)
    bench.exchange_leads(True)
    pulse(bench, 6.0)
    assert bench.closed() == 1


def test_reversed_pulses_raise_the_drop_out_of_magnetised_iron_and_of_no_other() -> None:
    def after(part: Specimen, volts: float) -> float:
        bench = operated_once(part)
        bench.exchange_leads(True)
        pulse(bench, volts)
        bench.exchange_leads(False)
        return bench.relay.magnetics.residual

    magnetised = specimen(coil={"residual_mmf_a": 42.0})
    assert after(magnetised, 0.6) == pytest.approx(42.0, rel=0.01)
    assert abs(after(magnetised, 4.0)) < 10
    assert after(specimen(), 6.0) == 0.0


def test_a_diode_across_the_coil_conducts_once_the_leads_are_exchanged() -> None:
    bench = Bench(specimen(suppression={"kind": "diode"}), None)
    bench.exchange_leads(True)
    bench.drive(Pins(lamp=True, dac=code(6.0), coil=True, dry=BOTH))
    bench.advance(0.1)
    assert bench.relay.circuit().supply_a > 0.25


def test_leads_put_back_leave_everything_as_it_was() -> None:
    part = specimen()
    bench = operated_once(part)
    bench.exchange_leads(True)
    bench.exchange_leads(False)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH))
    bench.advance(bench.time_s + 0.3)
    assert bench.relay.circuit().supply_a == pytest.approx(
        held(part).relay.circuit().supply_a, rel=0.01
    )  # the coil has warmed
    assert drop_out(part) > 2.0


def test_another_part_in_a_socket_with_exchanged_leads_is_exchanged_too() -> None:
    bench = Bench(specimen(), None)
    bench.exchange_leads(True)
    bench.insert(specimen(suppression={"kind": "diode"}))
    assert bench.relay.parts.suppression.reversed


def test_the_bench_tells_no_leads_apart_on_a_part_without_a_diode() -> None:
    bench = Bench(specimen(coil=HELD), None)
    usual = bench.network()
    bench.exchange_leads(True)
    assert bench.network() == usual


@given(trace=fields, field=fields)
def test_iron_has_no_side_of_its_own(trace: float, field: float) -> None:
    if trace:
        assert traced(-trace, -field, NOMINAL_A, KEPT_A) == -traced(trace, field, NOMINAL_A, KEPT_A)


@given(trace=st.floats(0.0, 400.0), field=fields)
def test_the_same_field_again_changes_nothing_more_until_it_turns_the_trace(trace: float, field: float) -> None:
    once = traced(trace, field, NOMINAL_A, KEPT_A)
    assert abs(once) <= 400.0
    if once > 0:
        assert traced(once, field, NOMINAL_A, KEPT_A) == pytest.approx(once)


def test_a_larger_reversed_field_never_leaves_more() -> None:
    left = [traced(200.0, -field, NOMINAL_A, KEPT_A) for field in range(0, 400, 2)]
    assert all(after <= before + 1e-9 for before, after in pairwise(left))
    assert left[0] == 200.0 and left[-1] < 0
