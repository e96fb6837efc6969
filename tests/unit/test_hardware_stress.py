"""No part of the bench is asked for more than it bears: in use with a margin, in a fault at its rating."""

from dataclasses import replace

from making import circuit, faults, stress, worst


def test_every_part_bears_the_worst_case_with_its_margin() -> None:
    beyond = stress.broken(stress.table(circuit.load()))
    assert [f"{r.case}: {r.ref} {r.what} {r.worst:.3g} of {r.rating:.3g} {r.unit}" for r in beyond] == []


def test_every_part_is_in_the_table() -> None:
    whole = circuit.load()
    assert {row.ref for row in stress.table(whole)} == set(whole.parts)


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
    assert any(r.ref == "Q3" and r.what == "drain volts" for r in stress.broken(stress.table(spoilt("Q3", v=60))))


def test_load_resistors_of_25_w_would_be_refused() -> None:
    assert any(r.ref == "R57" for r in stress.broken(stress.table(spoilt("R57", overload_w=125))))


def test_a_small_heatsink_would_be_refused() -> None:
    assert any(r.ref == "Q1" and r.unit == "W" for r in stress.broken(stress.table(spoilt("Q1", rth=20))))


def test_a_small_scan_resistor_burns_with_the_coil_supply_on_it() -> None:
    assert any(r.ref == "R80" for r in stress.broken(stress.table(spoilt("R80", ohm=470))))


def test_the_hardware_limit_leaves_room_for_a_54_ohm_coil_at_13_5_v() -> None:
    assert worst.coil_limit(circuit.load())[0] > 13.5 / 54


def test_the_lock_out_lets_a_charged_12_v_battery_in_and_keeps_24_v_out() -> None:
    low, high = worst.lockout(circuit.load())
    assert low > worst.BATTERY_MOST_V
    assert high < 20.0
