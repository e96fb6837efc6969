"""No part of the bench is asked for more than it bears: in use with a margin, in a fault at its rating."""

from dataclasses import replace

import pytest
from making import circuit
from making.limits import faults, stress, worst


def test_every_part_bears_the_worst_case_with_its_margin() -> None:
    beyond = stress.broken(faults.table(circuit.load()))
    assert [f"{r.case}: {r.ref} {r.what} {r.worst:.3g} of {r.rating:.3g} {r.unit}" for r in beyond] == []


def test_every_part_is_in_the_table() -> None:
    whole = circuit.load()
    assert {row.ref for row in faults.table(whole)} == set(whole.parts)


def test_the_named_faults_are_all_looked_at() -> None:
    names = " / ".join(case.name for case in faults.cases(circuit.load()))
    for fault in ("burnt contact", "shorted", "reversed", "24 V battery on the 12 V", "exchanged", "60 V transient"):
        assert fault in names


def spoilt(ref: str, **figures: object) -> circuit.Circuit:
    """The circuit with other ratings at one part."""
    whole = circuit.load()
    part = whole[ref]
    kind = replace(part.type, figures={**part.type.figures, **figures})
    return replace(whole, parts={**whole.parts, ref: replace(part, type=kind)})


def test_a_coil_transistor_of_60_v_would_be_refused() -> None:
    assert any(r.ref == "Q3" and r.what == "drain volts" for r in stress.broken(faults.table(spoilt("Q3", v=60))))


def test_load_resistors_of_25_w_would_be_refused() -> None:
    assert any(r.ref == "R57" for r in stress.broken(faults.table(spoilt("R57", overload_w=125))))


@pytest.mark.parametrize("ref", ["Q15", "Q16"])
def test_load_switches_on_thick_pads_would_burn_behind_a_lamp(ref: str) -> None:
    """Its volts, as a burnt contact's, lift the source: at most a quarter of volts squared over ohms."""
    found = stress.broken(faults.table(spoilt(ref, pulse_rth=1.6)))
    assert any((r.case, r.ref, r.unit) == ("in use", ref, "W") for r in found)


def test_a_fuse_may_open_as_soon_as_its_standard_allows() -> None:
    """ISO 8820-3 (from memory): 0.75 s at 135 %, 0.15 s at 200 %. Twice its rating for a pulse is no proof."""
    assert stress.fuse_a(30, 0.75) == pytest.approx(1.35 * 30)
    assert stress.fuse_a(30, 0.15) == pytest.approx(2 * 30)
    assert any(r.ref == "F2" for r in stress.broken(faults.table(spoilt("F2", a=25))))


def test_a_small_heatsink_would_be_refused() -> None:
    assert any(r.ref == "Q1" and r.unit == "W" for r in stress.broken(faults.table(spoilt("Q1", rth=20))))


def test_a_small_scan_resistor_burns_with_the_coil_supply_on_it() -> None:
    assert any(r.ref == "R80" for r in stress.broken(faults.table(spoilt("R80", ohm=470))))


def test_the_hardware_limit_leaves_room_for_a_54_ohm_coil_at_13_5_v() -> None:
    assert worst.coil_limit(circuit.load())[0] > 13.5 / 54


def test_the_lock_out_lets_a_charged_12_v_battery_in_and_keeps_24_v_out() -> None:
    low, high = worst.lockout(circuit.load())
    assert low > worst.BATTERY_MOST_V
    assert high < 20.0


def row(case: str, ref: str, what: str) -> stress.Row:
    """The one row of a part's figure in a case."""
    found = [r for r in faults.table(circuit.load()) if (r.case, r.ref, r.what) == (case, ref, what)]
    assert len(found) == 1, (case, ref, what)
    return found[0]


def test_what_feeds_the_5_v_rail_is_asked_for_every_load_at_once() -> None:
    """Logic, lamps, reeds, dry sources and the stand-in's relay; F1 and the jack carry them besides the coil."""
    loads = sum(worst.rail_loads(circuit.load()).values())
    assert loads > 0.020 + 3 * 0.010 + 5.0 / circuit.load()["K5"].type.number("coil_ohm")
    assert row("in use", "U1", "amps").worst == loads
    assert row("in use", "U1", "watts at 45 degC").worst == (worst.SUPPLY_MOST_V - 5) * loads
    fused = row("in use", "F1", "hold amps at 40 degC")
    assert fused.worst == worst.coil_limit(circuit.load())[1] + loads
    assert fused.rating < 0.9 * circuit.load()["F1"].type.number("a"), "a PTC holds less when it is warm"


def test_a_fuse_of_half_an_ampere_and_a_clip_of_20_k_w_would_be_refused() -> None:
    refused = stress.broken(faults.table(spoilt("F1", hold_40c_a=0.40)))
    refused += stress.broken(faults.table(spoilt("U1", rth=22)))
    assert {(r.ref, r.unit) for r in refused} == {("F1", "A"), ("U1", "W")}


def test_a_scan_relay_that_sticks_is_looked_at_as_the_coil_lets_go() -> None:
    """85 then flies to the clamp, not to the coil supply alone."""
    one = row("scan relays stuck closed as the coil is switched off", "D51", "amps")
    assert 0.065 < one.worst < 0.075
    for ref in ("U11", "U12"):
        assert row("scan relays stuck closed as the coil is switched off", ref, "amps into a pin").worst < 0.010
