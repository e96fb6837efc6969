"""No part and no wire of the evening build is asked for more than it bears; no thin copper lies behind a thick fuse."""

from dataclasses import replace

import pytest
from making import circuit
from making.copper import neighbours, onboard, wires
from making.evening import cases
from making.limits import stress, worst

WHOLE = circuit.load("evening")
BOARD = onboard.build(circuit.listed("evening/board.yaml"))


def spoilt(ref: str, **figures: float) -> circuit.Circuit:
    part = WHOLE[ref]
    kind = replace(part.type, figures={**part.type.figures, **figures})
    return replace(WHOLE, parts={**WHOLE.parts, ref: replace(part, type=kind)})


def test_every_part_bears_the_worst_case_with_its_margin_and_is_in_the_table() -> None:
    rows = cases.table(WHOLE)
    beyond = stress.broken(rows)
    assert [f"{r.case}: {r.ref} {r.what} {r.worst:.3g} of {r.rating:.3g} {r.unit}" for r in beyond] == []
    assert {row.ref for row in rows} == set(WHOLE.parts)


@pytest.mark.parametrize(
    ("ref", "figures"),
    [
        ("Q3", {"v": 60}), ("R56", {"overload_w": 125}), ("F2", {"a": 7}), ("Q1", {"pulse_rth": 25}),
        ("S4", {"a": 0.3}), ("F1", {"hold_40c_a": 0.25}), ("U5", {"bus_v": 12}), ("Q16", {"vgs": 10}),
        ("R136", {"ohm": 1.0}), ("R136", {"overload_w": 35}), ("U5", {"overload_w": 2.5}), ("S4", {"second_a": 3}),
        ("U9", {"a": 0.02}), ("R31", {"w": 0.125}), ("Q16", {"pulse_rth": 2.4}),
    ],
)  # fmt: skip
def test_a_weaker_part_is_found(ref: str, figures: dict[str, float]) -> None:
    assert any(row.ref == ref for row in stress.broken(cases.table(spoilt(ref, **figures))))


def test_the_hardware_ends_a_pulse_after_the_firmware_and_within_a_second() -> None:
    """At either end of USB and tolerances; typically in 0.5 to 0.75 s."""
    least, most = worst.pulse_cut(WHOLE, worst.RAIL_MOST_V)
    assert least > 1.006 * stress.FIRMWARE_S and most < 0.9
    middle = worst.ohm(WHOLE, "R76") * WHOLE["C40"].type.number("farad")
    assert 0.5 < 1.25 * middle < 0.75


@pytest.mark.parametrize("pins", ["Q16", "Q17"])
def test_a_load_gate_gets_enough_of_a_weak_usb(pins: str) -> None:
    """4.5 V at the Nano; the source stands at the drop of shunt, contact and lead (0.25 V); specified from 4 V on."""
    pull = worst.ohm(WHOLE, {"Q16": "R79", "Q17": "R96"}[pins], -1)
    gate = 4.5 * pull / (pull + worst.ohm(WHOLE, "R71", 1) + worst.ohm(WHOLE, "R70", 1))
    assert gate - 0.25 > 4.0


def test_the_coil_of_k1_is_driven_by_what_a_pin_gives() -> None:
    """A pin 0.6 V below 4.5 V at 7 mA (the Nano's lamp beside it): base current times least gain, over the coil's."""
    base_a = (4.5 - 0.6 - 0.9) / worst.ohm(WHOLE, "R134", 1) - 0.9 / worst.ohm(WHOLE, "R135", -1)
    assert base_a < 0.010
    assert base_a * WHOLE["Q10"].type.number("hfe") > 1.5 * cases.main_coil_a(WHOLE)


def test_k1_and_a_coil_of_12_v_get_their_volts_from_a_weak_battery() -> None:
    """11.5 V, F1, R136 and D1 at their most, a coil of 60 ohm: three quarters of 12 V operate any relay of 12 V."""
    amps = 11.5 / 60
    assert 11.5 - amps * (WHOLE["F1"].type.number("ohm_most") + worst.ohm(WHOLE, "R136", 1) + 0.1) - 0.5 > 0.85 * 12
    assert 11.5 - 0.85 - 0.3 - cases.main_coil_a(WHOLE) * 1.2 > 0.75 * 12


def test_every_wire_bears_what_the_fuse_before_it_lets_pass() -> None:
    assert wires.too_thin(WHOLE, wires.sections_on(WHOLE, BOARD)) == []


@pytest.mark.parametrize("number", [n for n, wire in enumerate(BOARD.wires, 1) if wire.mm2 > 2])
def test_a_thin_wire_for_the_load_is_found(number: int) -> None:
    thin = tuple(replace(wire, mm2=0.25) if wire.number == number else wire for wire in BOARD.wires)
    found = wires.too_thin(WHOLE, wires.sections_on(WHOLE, replace(BOARD, wires=thin)))
    assert found or set(BOARD.wires[number - 1].ends) & {("J9", "plus"), ("J9", "minus"), ("J3", "30")}


FED = {"load_fused", "k1_fused", "k1_feed", "k1_hot", "k1_plus", "k1_minus", "load", "load_bus", "coil_f", "coil_rail"}
FED |= {"wiper", "emitter", "coil_reg", "coil_plus", "ina_bus", "coil_minus"}
"""Nets at the battery's volts behind nothing but a fuse or a coil."""
BEARS = {"coil_reg", "coil_plus", "ina_bus"}
"""Pins of the INA226 that bear 40 V."""
CHIPS = {net for ref, part in WHOLE.parts.items() if part.type.kind == "ic" for net in part.pins.values()}
KNOWN = {frozenset(("coil_switch", "coil_minus"))}
"""Across one cut, at Q3 and its driver; the page has it metered."""


def test_copper_that_the_battery_feeds_keeps_away_from_the_pins_of_circuits() -> None:
    """Side by side, or end to end across one cut; two cuts in a row keep it away."""
    fed = {net for net, amps in wires.feeds(WHOLE).items() if amps > 0.9}
    assert FED - {"coil_minus"} <= fed
    pairs = [(one, other) for one, other, _ in neighbours.beside(WHOLE, BOARD)]
    at_chips = CHIPS - BEARS - {"gnd", "v5"}
    assert {frozenset(pair) for pair in pairs if set(pair) & FED and set(pair) & at_chips} == KNOWN


def test_copper_that_reads_low_when_built_right_is_on_the_page() -> None:
    low = {(one, other) for one, other, _, _ in neighbours.low_beside(WHOLE, BOARD)}
    assert low == {
        ("fast", "gnd"), ("coil_rail", "coil_reg"), ("coil_reg", "coil_plus"), ("coil_plus", "ina_bus"),
        ("gnd", "shunt_plus"),
    }  # fmt: skip


def test_the_bus_is_pulled_up_as_hard_as_its_parts_can_sink() -> None:
    """R3 and R4 beside 10 kohm on each of two modules (I2C: 3 mA at 0.4 V, UM10204)."""
    for ref in ("R3", "R4"):
        hardest = 1 / (1 / worst.ohm(WHOLE, ref, -1) + 2 / 10e3)
        assert (worst.RAIL_MOST_V - 0.4) / hardest < 0.003
        assert 0.8473 * worst.ohm(WHOLE, ref, 1) * 70e-12 < 300e-9, "without any on the modules, 70 pF on one board"


@pytest.mark.parametrize("pull_ups", [0, 1, 2])
def test_scl_idles_high_with_the_resistor_that_many_modules_have_from_addr_to_ground(pull_ups: int) -> None:
    """ADDR is at SCL here. High is 0.7 of the supply for Nano and modules (data sheets); pull-ups and ADDR 5 %."""
    down = 0.95 * WHOLE["U7"].type.number("addr_ohm")
    up = 1 / (1 / worst.ohm(WHOLE, "R4", 1) + pull_ups / 10.5e3)
    assert down / (down + up) > 0.75


@pytest.mark.parametrize("ref", ["R56", "R30", "Q16", "Q17"])
def test_a_load_in_a_tenth_of_all_time_is_borne_for_good(ref: str) -> None:
    """What the firmware's duty lets a host ask without a pause, be it in pulses or in watches of 0.96 s."""
    kind = WHOLE[ref].type
    good = kind.number("w") if kind.kind != "nmos" else (150 - 45) / kind.number("rth")
    assert 0.1 * cases.in_use(WHOLE).watts[ref][0] < 0.7 * good
