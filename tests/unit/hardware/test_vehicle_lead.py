"""The vehicle lead's page says what its circuit gives: volts at each pin, counts, what a pin bears."""

import re

import pytest
from making import circuit, lists
from making.limits import worst

from pulldrop.plant.bench import leaded
from pulldrop.plant.vehicle import lead

WHOLE = circuit.load("lead")
PAGE = (circuit.FOLDER / "lead/README.md").read_text("utf-8")
CLAMP_V, RAIL_V = 0.5, 5.25
INPUTS = (("R141", "R145", "A0"), ("R142", "R146", "A2"), ("R143", "R147", "A3"), ("R144", "R148", "A6"))


def ohm(ref: str, sign: int = 0) -> float:
    return worst.ohm(WHOLE, ref, sign)


@pytest.mark.parametrize(("series", "foot", "pin"), INPUTS)
def test_an_input_divides_as_the_page_says(series: str, foot: str, pin: str) -> None:
    share = ohm(foot) / (ohm(series) + ohm(foot))
    for volts, told in ((12.0, "1.29 V"), (36.0, "3.86 V"), (9.0, "0.96 V")):
        assert f"{volts * share:.2f} V" == told and told in PAGE
    assert WHOLE["U2"].net(pin) == WHOLE[foot].net("1") == WHOLE[series].net("2")
    assert round(1000 * 5.0 / 1024 / share) == 46 and round(4.5 / share) == 42


def test_the_ground_input_settles_and_counts_as_the_page_says() -> None:
    assert round(1100 / 1024, 1) == 1.1
    five = 5 * ohm("R149") * WHOLE["C145"].type.number("farad")
    assert f"{1000 * five:.0f} ms" == "24 ms" and "24 ms" in PAGE
    behind = ohm("R141") * ohm("R145") / (ohm("R141") + ohm("R145"))
    assert f"{5e3 * behind * WHOLE['C141'].type.number('farad'):.0f} ms" == "5 ms"


def test_no_pin_gets_more_than_a_milliampere_for_good() -> None:
    """Injected into the chip's own clamps; 1 mA is common practice."""
    assert (36 - RAIL_V - CLAMP_V) / ohm("R149", -1) == pytest.approx(0.65e-3, abs=0.06e-3)
    assert (36 - CLAMP_V) / ohm("R149", -1) < 1e-3 > (36 - CLAMP_V) / ohm("R141", -1)
    assert (60 - RAIL_V - CLAMP_V) / ohm("R149", -1) < 1.25e-3
    all_five = 4 * 36 / ohm("R141", -1) + 36 / ohm("R149", -1)
    assert all_five < 2.3e-3


def test_every_resistor_bears_36_v_for_good_and_350_v_for_a_moment() -> None:
    for ref in ("R141", "R142", "R143", "R144", "R149"):
        assert 36**2 / ohm(ref, -1) < 0.7 * WHOLE[ref].type.number("w")
        assert WHOLE[ref].type.number("v") >= 350


def test_the_bulb_stays_within_its_fuse() -> None:
    assert 14.8 / ohm("H1", -1) < 0.8 * WHOLE["F12"].type.number("a")


def test_the_page_names_each_part_with_its_value() -> None:
    named = set(re.findall(r"\b(?:[RCFXH])\d{1,3}\b", PAGE))
    assert named | {"X2", "X3", "X4", "X7", "X8"} >= set(WHOLE.parts) - {"U2"}
    for ref, value in re.findall(r"\b(R\d+|C\d+) \(([\d.]+ ?[a-zA-Z]*)", PAGE):
        assert value.replace("ohm", "").strip() == WHOLE[ref].type.value.strip(), ref
    assert f"About {lists.bench_cost(WHOLE, 0):.0f} euros" in PAGE


def test_the_page_says_what_the_program_does_with_it() -> None:
    assert "pulldrop watch" in PAGE and "pulldrop socket" in PAGE and "checked under a bulb" in PAGE


def test_pin_list_firmware_and_plant_have_each_clip_on_the_same_pin() -> None:
    pins = {one["clip"]: one for one in circuit.listed("pins.yaml")["bare"]}
    nets = {net: pin for pin, net in WHOLE["U2"].pins.items()}
    ends = {"X1": "lead_1", "X2": "lead_2", "X3": "lead_3", "X4": "lead_4", "X5": "lead_ground"}
    assert {clip: one["sense"] for clip, one in pins.items()} == {clip: nets[net] for clip, net in ends.items()}
    assert {one["channel"]: int(clip[1]) - 1 for clip, one in pins.items()} == leaded.CHANNELS
    source = (circuit.FOLDER.parent / "firmware/core/measure/lead.c").read_text("utf-8")
    lines = re.search(r"lines\[LEAD_INPUTS\] = \{([\d, ]+)\}", source)
    ground = re.search(r"GROUND_LINE (\d)", source)
    assert lines and ground
    told = [*map(int, lines[1].split(",")), int(ground[1])]
    assert told == [pins[clip]["line"] for clip in sorted(pins)]


def test_the_plant_has_the_circuits_values() -> None:
    assert {ohm(one[0]) for one in INPUTS} == {lead.SERIES_OHM} and {ohm(one[1]) for one in INPUTS} == {lead.FOOT_OHM}
    assert ohm("R149") == lead.GROUND_OHM
    assert {WHOLE[f"C{n}"].type.number("farad") for n in range(141, 146)} == {lead.FARAD}
