"""One circuit, told once: pins, firmware header, net list, virtual bench, calibration and guide say the same."""

import re
from math import isclose
from pathlib import Path

import pytest
import yaml
from gains import u_gain
from making import circuit
from making.copper import strips
from making.limits import stress, worst

from pulldrop.measure.rig.counts import budget, ranges
from pulldrop.measure.self_test import link
from pulldrop.model.bench import calibration
from pulldrop.model.bench.calibration import ROOT3
from pulldrop.plant.bench import feeds, frontend
from pulldrop.plant.relay import suppression

ROOT = Path(__file__).parents[3]
WHOLE = circuit.load()
PINS = yaml.safe_load((ROOT / "hardware/pins.yaml").read_text("utf-8"))
ERRORS = yaml.safe_load((ROOT / "hardware/channel_errors.yaml").read_text("utf-8"))["channels"]


def ohm(ref: str) -> float:
    return WHOLE[ref].type.number("ohm")


def test_the_nano_has_the_pins_of_the_pin_list() -> None:
    listed = {pin["pin"]: pin["name"] for pin in PINS["pins"]}
    drawn = {pin: net for pin, net in WHOLE["U2"].pins.items() if pin not in ("5V", "GND", "RST")}
    assert drawn == listed


def test_the_firmware_header_has_the_ports_of_the_pin_list() -> None:
    header = (ROOT / "firmware/nano/pins.h").read_text("utf-8")
    for pin in PINS["pins"]:
        name, port = pin["name"].upper(), pin["port"]
        if port.startswith("P"):
            assert f"#define {name}_PORT PORT{port[1]}\n" in header
            assert f"#define {name}_MASK (1u << {port[2]})\n" in header


@pytest.mark.parametrize("pin", [pin for pin in PINS["pins"] if pin.get("rest") == "low"], ids=lambda pin: pin["name"])
def test_an_output_that_moves_energy_is_held_low_while_the_nano_is_in_reset(pin: dict[str, str]) -> None:
    """Gates by a resistor, at Q3 behind its gate resistor; the reed by its own coil; lamp and dry sources move none."""
    gate = {"coil_switch": ("coil_gate", "fast")}.get(pin["name"], (pin["name"], "gnd"))
    down = list(WHOLE.between(*gate))
    reed = any(
        set(part.pins.values()) >= {pin["name"], "gnd"} and part.type.kind == "relay" for part in WHOLE.parts.values()
    )
    weak = pin["name"] in ("lamp", "dry_no", "dry_nc")
    assert weak or reed or any(part.type.kind == "resistor" for part in down)


def test_every_gate_that_moves_energy_is_held_down_at_its_own_pins() -> None:
    """No wire lies between the gate and its resistor; none leads from 87 or 87a to ground, which would be leakage."""
    for ref, part in WHOLE.parts.items():
        if ref != "Q3" and part.type.name != "q_fet_load":
            continue
        holds = [
            one
            for one, (other, standing) in strips.AT_PINS.items()
            if other == ref
            and WHOLE[one].type.kind == "resistor"
            and part.net("g") in WHOLE[one].pins.values()
            and set(WHOLE[one].pins.values()) & {"fast", "load_minus"}
            and "1" in standing
        ]
        assert len(holds) == 1, ref


def test_the_stop_input_is_held_high_so_that_a_broken_wire_stops() -> None:
    assert any(part.type.kind == "resistor" for part in WHOLE.between("stop", "v5"))


def test_bus_addresses_match_how_the_parts_are_strapped() -> None:
    straps = {"gnd": 0x48, "v5": 0x49, "sda": 0x4A}
    drawn = {straps[part.net("ADDR")] for part in WHOLE.parts.values() if part.type.name == "ads1115"}
    listed = {bus["address"] for bus in PINS["i2c"] if bus["part"].startswith("ADS1115")}
    assert drawn == listed
    assert [WHOLE["U10"].net(f"A{n}") for n in range(3)] == ["gnd"] * 3
    assert len({bus["address"] for bus in PINS["i2c"]}) == len(PINS["i2c"])


def test_the_converter_channels_are_wired_as_the_pin_list_says() -> None:
    assert [WHOLE["U7"].net(f"A{n}") for n in range(4)] == ["ain_no", "ain_nc", "ain_shunt", "ain_30"]


def test_the_virtual_bench_has_the_values_of_the_circuit() -> None:
    gain = (1 + ohm("R11") / ohm("R12")) / (1 + ohm("R97") / ohm("R10"))
    assert isclose(gain, frontend.DAC_GAIN, rel_tol=0.001)
    assert ohm("R18") == frontend.FAST_SHUNT_OHM
    assert WHOLE["U6"].type.number("gain") == frontend.FAST_GAIN
    assert ohm("R17") == frontend.INA_SHUNT_OHM
    assert ohm("R30") == frontend.LOAD_SHUNT_OHM
    assert isclose(ohm("R23") / (ohm("R22") + ohm("R23")), frontend.LOW_SIDE_DIVIDER)
    assert isclose(ohm("R78") / (ohm("R77") + ohm("R78")), frontend.LOAD_DIVIDER)
    assert tuple(round(r, 6) for r in worst.branch_ohm(WHOLE).values()) == frontend.BRANCH_OHM
    assert (ohm("TH1"), WHOLE["TH1"].type.number("beta")) == (frontend.NTC_OHM, frontend.NTC_B_K)


def test_the_virtual_bench_has_the_clamp_of_the_circuit() -> None:
    least, typical, most = WHOLE["D12"].type.bounds("vz")
    assert typical == suppression.TVS_V
    assert least < suppression.TVS_V + suppression.TVS_OHM * 0.3 < most


def test_the_link_takes_every_good_pulse_limit_and_none_that_cuts_a_whole_pulse() -> None:
    """At either end of its parts' tolerances, seen by a clock 0.6 % off and in whole ms; and every page says so."""
    least, most = worst.pulse_cut(WHOLE)
    assert 1000 * stress.FIRMWARE_S * 1.006 < link.CUT_MS[0] < 994 * least - 1
    assert 1006 * most + 1 < link.CUT_MS[1] < link.LIMIT_MS - 10
    told = re.compile(rf"{least:.2f}\s+to\s+{most:.2f}\s+s\b")
    guide, readme = pages()["guide.md"], pages()["README.md"]
    assert [len(told.findall(text)) for text in (guide, readme)] == [2, 1]
    assert "cut after {} to {} ms".format(*link.CUT_MS) in guide
    assert ohm("R76") == feeds.LIMIT_OHM and WHOLE["C40"].type.number("farad") == feeds.LIMIT_F
    assert least < feeds.LIMIT_S < most


def test_the_guide_calls_no_good_regulator_wrong_and_its_other_r2_always_helps() -> None:
    """LM317: 1.20 to 1.30 V and up to 0.1 mA at ADJ (data sheet)."""
    least, most = worst.rail_set(WHOLE, -1), worst.rail_set(WHOLE, 1)
    assert f"{least:.2f} to {most:.2f} V" in pages()["guide.md"]
    for volts, other in ((least, 750.0), (4.8, 750.0), (most, 680.0), (5.2, 680.0)):
        assert 4.8 < volts * (1 + other / ohm("R1")) / (1 + ohm("R2") / ohm("R1")) < 5.2
        assert f"{other:.0f} ohm" in pages()["guide.md"]


def test_the_guide_names_the_wires_between_the_first_boards() -> None:
    """As links.csv has them."""
    links = {row.split(",")[0]: row.split(",")[1] for row in strips.links(WHOLE).splitlines()[1:]}
    told = re.findall(r"(v5|gnd|stop_n) (A\d+) to (B\d+)", pages()["guide.md"])
    assert {net for net, *_ in told} == {"v5", "gnd", "stop_n"}
    assert all(f"{a} - {b}" in links[net] for net, a, b in told)


def test_the_dry_source_gives_about_five_milliamps() -> None:
    for diode, resistor in (("D33", "R38"), ("D34", "R39")):
        volts = 5.0 - WHOLE[diode].type.number("vf") - 0.13
        assert isclose(volts / ohm(resistor), 5.0 / 1000, rel_tol=0.05)


CHANNELS = ("coil_set", "coil_bus", "coil_shunt", "coil_fast", "drop", "load")


@pytest.mark.parametrize("name", CHANNELS)
def test_the_uncalibrated_bench_has_the_uncertainty_of_its_parts(name: str) -> None:
    """What is not corrected counts as uncertainty (GUM F.2.4.5). The host may be wider, never by more than a third."""
    own, parts = getattr(calibration.nominal(1), name), ERRORS[name]
    bias = parts["gain"] / own.gain - 1
    assert 0.95 < u_gain(own) / (parts["u_gain"] ** 2 + bias**2) ** 0.5 < 1.35
    assert 0.95 < own.u_zero / (parts["u_zero"] ** 2 + (parts["zero"] - own.zero) ** 2) ** 0.5 < 1.35


def test_what_the_coils_supply_shows_on_its_shunt_and_the_converters_bend_are_those_of_the_parts() -> None:
    """Neither is in a channel's gain or zero: the one grows with the volts, the other with the place in the range."""
    common, bend = ERRORS["coil_common"], ERRORS["ads_bend"]
    assert budget.COMMON_A_PER_V * 24 / ROOT3 / common["gain"] == pytest.approx(common["u_zero"], abs=0.05)
    assert budget.BUS_INPUT_S * 24 / common["gain"] == pytest.approx(common["zero"], abs=0.08)
    assert ranges.bend(16384, ranges.FINEST, "").std_dev == pytest.approx(bend["u_zero"], abs=0.05)


def test_tick_temperature_and_low_side_are_covered() -> None:
    own = calibration.nominal(1)
    assert isclose(own.tick.u_gain, ERRORS["tick"]["u_gain"], rel_tol=0.05)
    assert own.u_temperature_k > ERRORS["temperature"]["u_zero"]
    low_side = ERRORS["low_side"]
    bias = low_side["gain"] - own.low_side_ohm
    assert own.u_low_side_ohm > (bias**2 + (low_side["u_gain"] * low_side["gain"]) ** 2) ** 0.5


def test_the_read_me_quotes_the_cost_of_the_bill() -> None:
    bill, readme = pages()["parts.md"], pages()["README.md"]
    found = re.search(r"about (\d+) euros from a marketplace and (\d+) from a\s+distributor", bill)
    assert found, "the bill gives two sums"
    for page in (readme, (ROOT / "README.md").read_text("utf-8")):
        assert f"About {found[1]} euros in parts from a marketplace, {found[2]} from a distributor" in page


def pages() -> dict[str, str]:
    return {page.name: page.read_text("utf-8") for page in (ROOT / "hardware").glob("*.md")}


@pytest.mark.parametrize("name", ["README.md", "guide.md", "faults.md"])
def test_the_guide_names_only_parts_that_exist(name: str) -> None:
    named = set(re.findall(r"\b(?:[RCDQUKFJSZ]|TH|TS)\d{1,3}\b", pages()[name]))
    assert named, "a page that names no part is not about this bench"
    assert named - set(WHOLE.parts) == set()


REF = r"(?:[RCDQUKFJSZ]|TH|TS)"
FITTED = re.compile(r"^\d+\. (?:Fit |(?=Sheets? ))(.*?)(?=^\d+\. |\Z)", re.M | re.S)
"""A numbered step of the guide that fits parts."""


def refs(words: str) -> set[str]:
    """The references that words name, ranges such as R3 to R9 written out."""
    found = set(re.findall(rf"\b{REF}\d{{1,3}}\b", words))
    for kind, first, last in re.findall(rf"\b({REF})(\d+) to (?:{REF})(\d+)\b", words):
        found |= {f"{kind}{n}" for n in range(int(first), int(last) + 1)}
    return found


def fitted(guide: str) -> set[str]:
    """Every part that the guide says to fit, by its name or with its whole sheet."""
    found: set[str] = set()
    sheets = list(WHOLE.titles)
    for step in FITTED.findall(guide.partition("## Stage 1:")[2].partition("## Calibration")[0]):
        found |= refs(step)
        for one, other in re.findall(r"[Ss]heets? (\d+)(?: and (\d+))?", step):
            blocks = [sheets[int(n) - 1] for n in (one, other) if n]
            found |= {part.ref for block in blocks for part in WHOLE.block(block)}
    return found


def test_the_guide_says_of_every_part_when_to_fit_it() -> None:
    assert set(WHOLE.parts) - fitted(pages()["guide.md"]) == set()


def test_a_part_that_the_guide_forgets_is_found() -> None:
    guide = (
        pages()["guide.md"].replace("R31 to R46", "R31 to R43").replace("C50 to C53, ", "").replace("R44 to R46", "")
    )
    assert set(WHOLE.parts) - fitted(guide) == {"R44", "R45", "R46", "C50", "C51", "C52", "C53"}


def test_the_guide_shows_every_drawing() -> None:
    shown = set(re.findall(r"drawings/([\w/]+\.svg)", pages()["guide.md"]))
    folder = ROOT / "hardware/drawings"
    assert shown == {path.relative_to(folder).as_posix() for path in folder.rglob("*.svg")}


def test_the_guide_quotes_the_values_of_the_circuit() -> None:
    """A value in brackets after a reference, such as R18 (0.82 ohm), is the circuit's."""
    for name, text in pages().items():
        for ref, value in re.findall(r"\b(R\d+|C\d+) \(([\d.]+ ?[a-zA-Z]*)", text):
            want = WHOLE[ref].type.value
            assert value.replace(" ohm", "").replace("ohm", "").strip() == want.strip(), f"{name}: {ref} ({value})"
