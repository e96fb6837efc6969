"""Parts of other layouts in the plant: which blades conduct, and how a diode in series feeds its coil; all invented."""

from typing import Any

import pytest

from pulldrop.plant.bench.bench import Bench, Pins
from pulldrop.plant.network import Diode, Resistor
from pulldrop.plant.specimen import Specimen

ON = 1639  # 12 V
BOTH = 3


def bench(**physics: Any) -> Bench:
    return Bench(Specimen.model_validate({"title": "invented", **physics}), None)


def joined(of: Bench) -> set[frozenset[str]]:
    """Pairs of blades that lie on one resistor or diode."""
    ends = ((e.a, e.b) if isinstance(e, Resistor) else (e.anode, e.cathode) for e in of.network())
    return {frozenset(pair) for pair in ends}


def closed_when(of: Bench, coil: bool) -> int:
    """Throws that the pins show closed, both fed dry."""
    of.drive(Pins(lamp=True, dac=ON if coil else 0, coil=coil, dry=BOTH))
    of.advance(of.time_s + 0.1)
    return of.closed()


@pytest.mark.parametrize(
    ("form", "base", "at_rest", "operated"),
    [
        ("A", "mini_12v_normally_open", 0, 1),
        ("B", "mini_12v_changeover", 2, 0),
        ("C", "mini_12v_changeover", 2, 1),
        ("twin", "mini_12v_normally_open", 0, 3),
    ],
)
def test_each_form_closes_its_own_blades(form: str, base: str, at_rest: int, operated: int) -> None:
    part = bench(form=form, base=base)
    assert (closed_when(part, False), closed_when(part, True), closed_when(part, False)) == (at_rest, operated, at_rest)


def test_two_blades_87_are_joined_whatever_the_contact_does() -> None:
    part = bench(form="twin", base="mini_12v_normally_open")
    assert frozenset(("87", "87a")) in joined(part)
    closed_when(part, True)
    assert frozenset(("87", "87a")) in joined(part)


def test_exchanged_blades_lie_crosswise() -> None:
    assert joined(bench(layout="exchanged")) == {frozenset(("30", "85")), frozenset(("86", "87a"))}


def test_a_part_with_exchanged_blades_is_not_fed_by_the_coil_supply() -> None:
    part = bench(layout="exchanged")
    part.drive(Pins(lamp=True, dac=ON, coil=True))
    part.advance(0.2)
    assert part.relay.i == 0.0


# --- diode in series ---


def fed(volts: float, **suppression: Any) -> Bench:
    part = bench(suppression={"kind": "series_diode", **suppression})
    part.drive(Pins(lamp=True, dac=round(volts / 30 * 4096), coil=True))
    part.advance(0.3)
    return part


@pytest.mark.parametrize("volts", [2.0, 6.0, 12.0])
def test_it_takes_its_own_volts_and_the_coil_the_rest(volts: float) -> None:
    part = fed(volts)
    amps = part.relay.i
    assert amps == pytest.approx((volts - 0.70) / (part.relay.ohm + 0.6 + 0.87), rel=0.01)
    bus, shunt = part.ina_counts()
    assert bus * 1.25e-3 == pytest.approx(volts, abs=0.01)
    assert shunt * 25e-6 == pytest.approx(amps, rel=0.01)


@pytest.mark.parametrize("suppression", [{"reversed": True}, {}])
def test_below_its_volts_and_the_wrong_way_round_nothing_flows(suppression: dict[str, bool]) -> None:
    part = fed(12.0 if suppression else 0.5, **suppression)
    assert abs(part.relay.i) < 1e-6
    assert part.ina_counts()[1] <= 1


def test_the_coil_lets_go_into_its_own_diode_and_the_bench_sees_no_spike() -> None:
    part = fed(12.0)
    part.drive(Pins(lamp=True, dac=ON))
    highest = 0.0
    for _ in range(40):
        part.advance(part.time_s + 0.5e-3)
        highest = max(highest, part.relay.circuit().low_side_v)
    assert highest < 12.5
    assert part.relay.i < 0.02


def test_it_conducts_one_way_in_the_scan() -> None:
    diodes = [one for one in bench(suppression={"kind": "series_diode"}).network() if isinstance(one, Diode)]
    assert {(one.anode, one.cathode) for one in diodes} == {("86", "inside"), ("85", "inside")}
