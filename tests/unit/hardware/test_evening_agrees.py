"""The evening build's circuit, its plant, pin list and address say the same."""

import re
from math import isclose
from typing import Any

import pytest
from making import circuit
from making.limits import worst

from pulldrop.plant.bench import evening, frontend

WHOLE = circuit.load("evening")
PINS: dict[str, Any] = circuit.listed("pins.yaml")


def ohm(ref: str) -> float:
    return worst.ohm(WHOLE, ref)


def test_the_nano_has_the_pins_of_the_pin_list() -> None:
    listed = {pin["pin"]: pin["name"] for pin in PINS["pins"]}
    used = {pin: net for pin, net in WHOLE["U2"].pins.items() if pin not in ("5V", "GND", "GND2")}
    assert {pin: listed[pin] for pin in used} == used
    free = {name for pin, name in listed.items() if pin not in used}
    assert free == {"serial_rx", "serial_tx", "branch_1a", "branch_5a", "branch_10a", "branch_20a"}


def test_the_converter_answers_at_the_address_that_tells_the_build() -> None:
    straps = {"gnd": 0x48, "v5": 0x49, "sda": 0x4A, "scl": 0x4B}
    listed = {part["part"]: part["address"] for part in PINS["i2c"]}
    assert straps[WHOLE["U7"].net("ADDR")] == listed["EVENING_ADS1115"]
    assert [WHOLE["U7"].net(f"A{n}") for n in range(4)] == ["ain_no", "ain_nc", "ain_shunt", "ain_30"]


def test_the_plant_has_the_values_of_the_circuit() -> None:
    assert isclose(1 + ohm("R132") / ohm("R133"), evening.FAST_GAIN)
    assert ohm("R18") == frontend.FAST_SHUNT_OHM
    assert WHOLE["U5"].type.number("ohm") == frontend.INA_SHUNT_OHM
    assert ohm("R30") == frontend.LOAD_SHUNT_OHM
    assert isclose(ohm("R23") / (ohm("R22") + ohm("R23")), frontend.LOW_SIDE_DIVIDER)
    assert isclose(ohm("R78") / (ohm("R77") + ohm("R78")), frontend.LOAD_DIVIDER)
    assert ohm("R131") + 25 == evening.LOOK_OHM
    assert ohm("R56") in frontend.BRANCH_OHM
    assert (ohm("TH1"), WHOLE["TH1"].type.number("beta")) == (frontend.NTC_OHM, frontend.NTC_B_K)


def test_a_dry_source_gives_the_plants_current() -> None:
    """910 ohm, a pin of 25 ohm and a BAT46 of 0.3 V at 5 mA."""
    for diode, series in (("D33", "R38"), ("D34", "R39")):
        assert WHOLE[diode].type.name == "d_schottky_small"
        assert (5.0 - 0.3) / (ohm(series) + 25) == pytest.approx(5.0 / evening.DRY_OHM, rel=0.02)


def test_what_feeds_the_coil_is_within_what_the_plant_takes() -> None:
    """PTC from 0.5 to 1.2 ohm, R136 and the module's 0.1 ohm."""
    least, most = (WHOLE["F1"].type.number(f"ohm_{end}") + ohm("R136") + 0.1 for end in ("least", "most"))
    assert least < evening.FEED_OHM < most
    assert 0.2 < evening.FEED_V < 0.5


def test_only_k1s_own_coil_hangs_on_the_stop() -> None:
    """So A6 reads the battery with the stop pressed too: no sign of a welded K1 on this build."""
    behind = {"k1_feed", "k1_hot", "k1_plus"}
    assert not behind & {WHOLE["R77"].net("1"), WHOLE["F1"].net("1"), WHOLE["R56"].net("1")}
    assert WHOLE["R77"].net("1") == WHOLE["K1"].net("30") != WHOLE["K1"].net("87")


def test_the_page_names_each_part_that_changes_on_the_way_to_the_full_bench() -> None:
    """The Nano gets pins, no other; what keeps type and nets needs no word."""
    full = circuit.load().parts
    told = (circuit.FOLDER / "evening/README.md").read_text("utf-8").partition("## From here to the full bench")[2]
    spans = re.findall(r"([A-Z]+)(\d+) to \1(\d+)", told)
    named = {
        *re.findall(r"[A-Z]+\d+", told),
        *(f"{kind}{n}" for kind, a, b in spans for n in range(int(a), int(b) + 1)),
    }
    changed = {ref for ref, part in WHOLE.parts.items() if ref not in full or _wired(part) != _wired(full[ref])}
    assert len(changed) > 30 and changed - {"U2"} <= named


def _wired(part: Any) -> tuple[str, dict[str, str]]:
    return part.type.name, part.pins
