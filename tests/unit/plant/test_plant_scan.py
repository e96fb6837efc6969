"""The part between its terminals, and the benches that look at it: networks against hand calculation."""

import pytest

from pulldrop.plant.bench import scan
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.bench.scan import ScanErrors
from pulldrop.plant.network import Diode, Resistor, solve
from pulldrop.plant.specimen import Specimen

PERFECT = ScanErrors()
EDGE_OHM = (247e3, 247e3)
T85, T86, T87, T87A, T30 = 1, 2, 3, 4, 9


def part(**faults: object) -> Specimen:
    return Specimen.model_validate({"title": "invented", **faults})


def full(specimen: Specimen, source: int, sink: int, look: int, load_v: float = 12.0) -> scan.FullVolts:
    network = Bench(specimen, None).network()
    return scan.full(network, PERFECT, 5.0, load_v, EDGE_OHM, *scan.ports(source, sink, look))


def bare(specimen: Specimen, source: int, sink: int, weak: bool = False) -> dict[str, float]:
    return scan.bare(Bench(specimen, None).network(), PERFECT, 5.0, scan.levels(source, sink, weak))


def test_a_divider_divides() -> None:
    assert solve([Resistor("a", "b", 1e3), Resistor("b", "gnd", 3e3)], {"a": 4.0, "gnd": 0.0})["b"] == pytest.approx(3)


def test_a_bridge_in_balance_has_no_volts_across() -> None:
    arms = [Resistor("a", "x", 1e3), Resistor("x", "gnd", 2e3), Resistor("a", "y", 10e3), Resistor("y", "gnd", 20e3)]
    volts = solve([*arms, Resistor("x", "y", 50.0)], {"a": 9.0, "gnd": 0.0})
    assert volts["x"] == pytest.approx(6) and volts["y"] == pytest.approx(6)


def test_a_diode_is_one_way() -> None:
    there, back = Diode("b", "gnd", 0.6, 10.0), Diode("gnd", "b", 0.6, 10.0)
    held = {"a": 5.0, "gnd": 0.0}
    assert solve([Resistor("a", "b", 1e3), there], held)["b"] == pytest.approx(0.6 + 4.4 * 10 / 1010)
    assert solve([Resistor("a", "b", 1e3), back], held)["b"] == pytest.approx(5.0, abs=1e-6)


def test_diodes_that_wait_for_each_other_are_found() -> None:
    chain = [Diode("b", "c", 0.6, 1.0), Diode("c", "d", 0.6, 1.0), Diode("d", "gnd", 0.6, 1.0)]
    volts = solve([Resistor("a", "b", 1e3), *chain], {"a": 5.0, "gnd": 0.0})
    assert volts["b"] == pytest.approx(1.8, abs=0.02)


def test_a_full_bench_drives_the_coil_with_a_milliamp_because_86_is_loaded() -> None:
    seen = full(part(), T86, T85, T86)
    assert 0.9 < seen.look < 1.1
    assert 0.7e-3 < seen.sink / 100 < 0.9e-3


def test_the_closed_throw_takes_4_milliamps_into_terminal_30() -> None:
    seen = full(part(), T87A, T30, T87A)
    assert (5 - seen.drive) / 100 == pytest.approx(5 / 1180, rel=0.001)
    assert seen.look < 1e-3


def test_the_pull_up_of_87_gives_20_microamps() -> None:
    assert full(part(), 0, T87, T87).sink / 100 == pytest.approx(5 / (247e3 + 1180), rel=1e-3)


def test_without_load_supply_the_load_switches_draw_from_87() -> None:
    dead, alive = full(part(), T87, T30, T87, load_v=0.0), full(part(), T87, T30, T87)
    assert 0.2e-3 < (5 - dead.drive) / 100 < 0.4e-3
    assert (5 - alive.drive) / 100 < 1e-7


def test_the_coil_relays_part_85_and_86_from_the_scan() -> None:
    network = Bench(part(), None).network()
    a, b = scan.ports(T86, T85, T86)
    assert scan.full(network, PERFECT, 5.0, 12.0, EDGE_OHM, a, b & ~scan.RELAYS).look == 0.0


def test_a_bare_bench_divides_the_coil_between_two_resistors() -> None:
    volts = bare(part(), T86, T85)
    ohm = Bench(part(), None).relay.ohm
    amps = 5 / (2 * 245 + ohm)
    assert volts["85"] == pytest.approx(245 * amps)
    assert volts["86"] - volts["85"] == pytest.approx(ohm * amps)


def test_a_good_diode_shows_from_85_to_86_and_a_reversed_one_the_other_way() -> None:
    def across(reversed: bool, source: int, sink: int) -> float:
        volts = bare(part(suppression={"kind": "diode", "reversed": reversed}), source, sink)
        return abs(volts["86"] - volts["85"])

    assert across(False, T85, T86) < 0.85 * across(False, T86, T85)
    assert across(True, T86, T85) < 0.85 * across(True, T85, T86)


def test_a_resistor_across_the_coil_shows_both_ways() -> None:
    bridged = part(suppression={"kind": "resistor", "resistor_ohm": 680})
    for source, sink in ((T86, T85), (T85, T86)):
        plain, with_it = bare(part(), source, sink), bare(bridged, source, sink)
        assert abs(with_it["86"] - with_it["85"]) < 0.95 * abs(plain["86"] - plain["85"])


def test_a_zener_does_not_show_at_5_volts() -> None:
    zener = part(suppression={"kind": "diode_zener"})
    assert bare(zener, T85, T86) == pytest.approx(bare(part(), T85, T86))


def test_a_carbon_track_conducts_alike_and_water_by_polarity() -> None:
    def amps(kind: str) -> list[float]:
        leaky = part(faults={"leaks": [{"between": "30-87", "ohm": 200e3, "kind": kind}]})
        there, back = bare(leaky, T87, T30, weak=True), bare(leaky, T30, T87, weak=True)
        return [(5 - there["87"]) / 35e3, (5 - back["30"]) / 35e3]

    track, water = amps("track"), amps("water")
    assert track[0] == pytest.approx(track[1], rel=1e-3)
    assert min(water) < 0.93 * max(water)


def test_an_open_coil_is_open_and_a_4_terminal_part_has_no_87a() -> None:
    assert bare(part(faults={"coil_open": True}), T86, T85)["86"] == pytest.approx(5, abs=1e-3)
    assert bare(part(form="A"), T87A, T30)["87a"] == pytest.approx(5, abs=1e-3)


def test_a_welded_throw_is_closed_at_rest() -> None:
    assert bare(part(faults={"welded": "contact_no"}), T87, T30)["87"] < 2.6


def test_a_leak_between_no_two_terminals_is_refused() -> None:
    told = "no pair of terminals|names one terminal twice|names no two terminals"
    for between in ("30", "30-30", "30-88", "30-87-85"):
        with pytest.raises(ValueError, match=f"({told}).*expected"):
            part(faults={"leaks": [{"between": between, "ohm": 1e5}]})
