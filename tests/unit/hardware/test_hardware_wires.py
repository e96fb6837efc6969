"""Wires, bus and small parts of the bench: nothing thin behind a thick fuse, one bus that is pulled up once."""

from dataclasses import replace

import pytest
import yaml
from making import checklist, circuit
from making.copper import neighbours, strips, wires
from making.limits import worst

WHOLE = circuit.load()


def test_every_wire_bears_what_the_fuse_before_it_lets_pass() -> None:
    assert wires.too_thin(WHOLE) == []


def test_the_list_to_tick_names_each_end_of_every_wire_once() -> None:
    wired = [row for heading, row in checklist.rows(WHOLE) if heading != checklist.JOINTS]
    told = [cell for row in wired for cell in (row[2], *row[3].split(", "))]
    legs = [leg for leg in strips.legs(WHOLE) if leg.how.startswith(("wire", "screw"))]
    assert len(legs) > 300
    for leg in legs:
        number = WHOLE[leg.ref].type.leg(leg.pin)
        name = f"{leg.ref} {leg.pin}" + ("" if number == leg.pin else f" (leg {number})")
        assert told.count(name) == 1, name


def test_the_list_to_tick_names_each_joint_at_a_pin_or_screw_once_with_its_place() -> None:
    rows = {
        cell: row[3]
        for heading, row in checklist.rows(WHOLE)
        if heading == checklist.JOINTS
        for cell in row[2].split(", ")
    }
    legs = [leg for leg in strips.legs(WHOLE) if leg.how.startswith("at the")]
    assert len(rows) == len(legs) > 80
    for name, place in {
        "Q6 d (leg 1)": "U4 + (leg 3)", "R97 2": "U4 + (leg 3)", "R98 2": "Q6 g (leg 2)", "R99 1": "Q7 g (leg 2)",
        "Q7 d (leg 1)": "Q6 g (leg 2)", "R77 1": "K1 87", "R38 2": "J3 87", "R84 1": "J5 1", "C14 2": "U6 GND (leg 2)",
    }.items():  # fmt: skip
        assert rows[name] == place
    assert "then J2 minus" in checklist.text(WHOLE)


def low_pairs(whole: circuit.Circuit) -> dict[tuple[str, str], tuple[float, str]]:
    return {(one.net, other.net): (round(ohm, 1), ref) for (one, other), (ohm, ref) in neighbours.low(whole).items()}


def test_strips_that_read_low_when_built_right_are_listed_with_what_opens_them() -> None:
    """A bridge across the stop would read the same with the stop closed."""
    assert low_pairs(WHOLE) == {
        ("coil_d", "coil_rail"): (0.0, "S1"), ("k1_feed", "k1_fused"): (0.0, "S1"), ("k1_feed", "k1_hot"): (0.0, "TS1"),
        ("coil_plus", "t86_sense"): (0.0, "J3"), ("coil_minus", "t85_sense"): (0.0, "J3"),
        ("shunt_plus", "gnd"): (0.0, "R30"), ("v5", "v5_over"): (5.6, ""), ("coil_plus", "ina_plus"): (10.1, ""),
        ("ina_plus", "ina_minus"): (20.1, ""), ("ina_minus", "ina_bus"): (20.0, ""),
    }  # fmt: skip
    assert "| k1_feed, k1_hot | 0 ohm | the wire of TS1 1 or 2 off: no bridge |" in checklist.text(WHOLE)


@pytest.mark.parametrize("ohm", [49.0, 51.0])
def test_a_resistor_between_two_strips_counts_below_50_ohm(ohm: float) -> None:
    part = WHOLE["R3"]
    small = replace(part, type=replace(part.type, figures={**part.type.figures, "ohm": ohm}))
    parts = {**WHOLE.parts, "R3": replace(small, pins=dict(zip(small.pins, ("sda", "scl"), strict=True)))}
    assert (("sda", "scl") in low_pairs(replace(WHOLE, parts=parts))) == (ohm < neighbours.LOW_OHM)


def test_every_net_with_a_link_is_looked_at() -> None:
    """A feed is found for every net that can carry amps of a supply."""
    fed = wires.feeds(WHOLE)
    for net in ("load", "k1_fused", "k1_feed", "load_bus", "t87", "coil_plus", "v5", "sda", "out87"):
        assert fed[net] > 0, net
    assert fed["load_fused"] == 30.0
    assert fed["k1_feed"] == 1.0


def test_no_strip_that_a_battery_or_the_vehicle_feeds_lies_beside_one_of_a_chips_pin(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A whisker of solder would put 12 V on it, with the stop pressed too."""
    own = {"coil_in", "v5"}
    monkeypatch.setattr(wires, "SOURCES", {net: amps for net, amps in wires.SOURCES.items() if net not in own})
    fed = {net for net, amps in wires.feeds(WHOLE).items() if amps > 0.1}
    assert {"k1_fused", "k1_feed", "dummy_f"} <= fed
    chips = {net for part in WHOLE.parts.values() if part.type.kind == "ic" for net in part.pins.values()} | {"stop_n"}
    chips -= {
        net for ref in ("U1",) for net in WHOLE[ref].pins.values()
    }  # bears it; the coil supply, U4, would pass it on
    at = {(leg.board, leg.strip): leg.net for leg in strips.legs(WHOLE) if leg.strip}
    pairs = [{net, at[board, strip + 1]} for (board, strip), net in at.items() if (board, strip + 1) in at]
    assert [sorted(pair) for pair in pairs if pair & fed and pair & (chips - fed - {"gnd"})] == []


def rewired(ref: str, **pins: str) -> circuit.Circuit:
    part = WHOLE[ref]
    return replace(WHOLE, parts={**WHOLE.parts, ref: replace(part, pins={**part.pins, **pins})})


def test_the_coil_of_k1_fed_without_a_fuse_of_its_own_is_found() -> None:
    """As it was drawn once: 0.25 mm2 behind 30 A."""
    found = wires.too_thin(rewired("S1", b1="load_fused"))
    assert any(line.startswith("k1_feed: 0.25 mm2 bears a fuse of 3 A, fed with 30 A") for line in found)


@pytest.mark.parametrize(("ref", "net"), [("R77", "load"), ("R40", "t87"), ("R71", "g_no"), ("R31", "t87_sense")])
def test_a_resistor_on_the_board_instead_of_at_the_screw_is_found(
    monkeypatch: pytest.MonkeyPatch, ref: str, net: str
) -> None:
    """A thin wire would lead to it from the load."""
    monkeypatch.setattr(strips, "AT_SCREW", {r: leg for r, leg in strips.AT_SCREW.items() if r != ref})
    monkeypatch.setattr(strips, "AT_PINS", {r: at for r, at in strips.AT_PINS.items() if r != ref})
    assert any(line.startswith(f"{net}: 0.25 mm2") for line in wires.too_thin(WHOLE))


SINK_A, LOW_V = 0.003, 0.4
"""UM10204 (I2C): every part sinks 3 mA at 0.4 V."""
RISE_S, WIRING_F = 300e-9, 150e-12
"""Most rise time at 400 kHz (UM10204), and an estimate of seven parts and 1.5 m of wire."""


def test_the_bus_is_pulled_up_once_and_as_hard_as_its_parts_can_sink() -> None:
    """R3 and R4 alone: the modules' own come off, and one of 10 kohm that was forgotten does no harm."""
    for ref in ("R3", "R4"):
        hardest = 1 / (1 / worst.ohm(WHOLE, ref, -1) + 1 / 10e3)
        assert (worst.RAIL_MOST_V - LOW_V) / hardest < SINK_A
        assert 0.8473 * worst.ohm(WHOLE, ref, 1) * WIRING_F < RISE_S
    joined = {ref for net in ("sda", "scl") for ref, _ in WHOLE.nets()[net] if WHOLE[ref].type.kind == "resistor"}
    assert joined == {"R3", "R4"}


def test_every_module_of_the_bus_says_that_its_pull_ups_come_off() -> None:
    for ref, _ in WHOLE.nets()["sda"]:
        kind = WHOLE[ref].type
        assert "module" not in kind.rating or "pull-ups off" in kind.rating, ref


def test_the_port_is_reset_with_the_nano() -> None:
    """Through 1 kohm: a Nano's reset line may swing above 5 V."""
    assert [part.type.number("ohm") for part in WHOLE.between("reset", WHOLE["U10"].net("RESET"))] == [1000.0]
    assert WHOLE["U2"].net("RST") == "reset"


def test_every_circuit_has_its_capacitor() -> None:
    """100 nF at the supply pins of every circuit that is no module and no regulator."""
    for ref, part in WHOLE.parts.items():
        if part.type.name in ("opamp", "ina180", "ads1115", "timer", "mcp23017", "hc4051"):
            supply = next(part.pins[pin] for pin in ("VCC", "VDD", "VS", "v+") if pin in part.pins)
            at = [c for c, (other, _) in strips.AT_PINS.items() if other == ref and WHOLE[c].type.kind == "capacitor"]
            near = [c for c in at if supply in WHOLE[c].pins.values()]
            assert near or ref == "U14", ref


def test_the_leakage_of_the_coils_freewheeling_diode_is_not_in_the_measured_current() -> None:
    assert WHOLE["D11"].net("k") == WHOLE["R17"].net("1") == "coil_reg"


def test_the_inputs_of_the_current_meter_have_10_ohm_each() -> None:
    for pin, source in (("IN+", "coil_reg"), ("IN-", "coil_plus"), ("VBUS", "coil_plus")):
        assert [part.type.number("ohm") for part in WHOLE.between(source, WHOLE["U5"].net(pin))] == [10.0]


def test_the_stand_ins_relay_is_driven_by_what_a_port_can_give() -> None:
    """U10 puts out 4.0 V at least; the base current then is more than the coil's over the transistor's gain."""
    base_a = (4.0 - WHOLE["Q22"].type.bounds("vbe")[2] - 0.1) / worst.ohm(WHOLE, "R124", 1)
    assert base_a < 0.025, "of a port pin of the MCP23017"
    assert base_a * WHOLE["Q22"].type.number("hfe") > 3 * worst.rail_loads(WHOLE)["K5"]


def test_the_dac_may_have_any_address_of_its_two_usual_families() -> None:
    """Chips marked A0 answer at 0x60 or 0x61, those marked A1 at 0x62 or 0x63."""
    pins = yaml.safe_load((circuit.FOLDER / "pins.yaml").read_text("utf-8"))
    dac = next(part for part in pins["i2c"] if part["part"] == "MCP4725")
    assert [dac["address"], *dac["or"]] == [0x60, 0x61, 0x62, 0x63]
    assert not {part["address"] for part in pins["i2c"]} & set(dac["or"])
