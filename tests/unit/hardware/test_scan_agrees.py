"""Circuit, pin list, firmware, plant, emulator and host speak of the same scan: lines, resistors, channels."""

from pathlib import Path
from typing import Any

import pytest
from making import circuit

from pulldrop.emulator import i2c_parts, machine
from pulldrop.measure.rig import scan_read
from pulldrop.measure.rig.counts import channels
from pulldrop.model.raw import Line
from pulldrop.plant.bench import inputs, scan
from pulldrop.plant.network import Resistor

ROOT = Path(__file__).parents[3]
PINS = circuit.listed("pins.yaml")
BARE = PINS["bare"]
BLOCKS = circuit.listed("circuit.yaml")["blocks"]
PARTS: dict[str, Any] = {name: one for block in BLOCKS.values() for name, one in block["parts"].items()}
OHM = {
    "r_100": 100, "r_1k_1w": 1e3, "r_10k": 10e3, "r_100k": 100e3, "r_4k7": 4.7e3, "r_27k": 27e3, "r_220k": 220e3,
    "r_1k": 1e3, "r_2k7": 2.7e3, "r_2k2_1w": 2.2e3, "r_16k_fine": 16e3, "r_3k16_fine": 3.16e3,
}  # fmt: skip


def ohm(*names: str) -> float:
    return sum(OHM[PARTS[name]["type"]] for name in names)


def test_the_bare_terminals_are_the_same_everywhere() -> None:
    listed = {one["terminal"]: one for one in BARE}
    assert {one["line"]: name for name, one in listed.items()} == scan.BARE_LINES
    assert {name: one["ohm"] for name, one in listed.items()} == scan.BARE_OHM
    assert {Line(one["line"]): one["ohm"] for one in BARE} == scan_read.BARE_OHM
    ports = {
        name: ("BCD".index(one["drive_port"][1]), int(one["drive_port"][2:]), one["channel"])
        for name, one in listed.items()
    }
    assert ports == machine.BARE


def test_a_line_carries_the_name_of_its_terminal() -> None:
    for one in BARE:
        assert Line(one["line"]).name == f"T{one['terminal'].upper()}"


def test_each_bare_pin_serves_once_and_none_is_needed_for_bus_line_or_thermistor() -> None:
    used = [one[key] for one in BARE for key in ("drive", "sense")]
    assert len(set(used)) == len(used) == 10
    assert not set(used) & {"D0", "D1", "A1", "A4", "A5"}
    on_nano = {pin["pin"]: pin["port"] for pin in PINS["pins"]}
    assert all(on_nano[one["drive"]] == one["drive_port"] for one in BARE)
    assert all(one["channel"] == int(one["sense"][1:]) for one in BARE)


def test_no_bare_drive_pin_can_load_or_energise_on_a_full_build() -> None:
    names = {pin["pin"]: pin["name"] for pin in PINS["pins"]}
    driven = {names[one["drive"]] for one in BARE}
    assert driven <= {"edge_nc", "edge_no", "clamp_diode", "throw_no", "throw_nc"}
    assert not driven & {"coil_switch", "branch_1a", "branch_5a", "branch_10a", "branch_20a"}


def test_no_bare_sense_pin_is_an_output_of_a_full_build_that_its_circuit_needs_low() -> None:
    names = {pin["pin"]: pin["name"] for pin in PINS["pins"]}
    outputs = {pin["name"] for pin in PINS["pins"] if pin["way"] == "out"}
    assert {names[one["sense"]] for one in BARE} & outputs == {"dry_no", "dry_nc"}


def test_the_scans_resistors_are_those_of_the_circuit() -> None:
    assert ohm("R88") == ohm("R89") == scan.END_OHM == channels.END_OHM
    assert all(ohm(f"R8{n}") == scan.LINE_OHM == scan_read.LINE_OHM for n in range(8))
    assert all(ohm(f"R10{n}") == scan.LOOK_OHM for n in range(1, 9))
    assert ohm("R95") == scan.MORE_OHM["85"]
    assert scan_read.SINK_PATH_OHM == scan.LINE_OHM + scan.MUX_OHM + scan.END_OHM


def test_what_else_hangs_on_the_terminals_is_that_of_the_circuit() -> None:
    edges = tuple(inputs.Inputs().feed_ohm(throw, False) for throw in (0, 1))
    loads = {(one.a, one.b): one.ohm for one in scan._loads((edges[0], edges[1])) if isinstance(one, Resistor)}
    assert loads["85", "gnd"] == ohm("R22", "R23") == channels.LOW_SIDE_OHM
    beside = 1 / (1 / ohm("R16") + 1 / ohm("R11", "R12"))
    assert loads["86", "gnd"] == pytest.approx(beside)
    assert pytest.approx(beside, rel=0.001) == scan_read.COIL_PLUS_OHM
    assert loads["87", "5v"] == ohm("R40", "R41") and loads["87a", "5v"] == ohm("R42", "R43")
    assert loads["load_node", "gnd"] == ohm("R77", "R78") == channels.LOAD_OHM
    assert (ohm("R23"), ohm("R78")) == (channels.LOW_SIDE_FOOT_OHM, channels.LOAD_FOOT_OHM)


def test_the_multiplexers_lines_are_numbered_as_on_the_wire() -> None:
    at_line = {"x85": "85", "x86": "86", "t87": "87", "t87a": "87a"}
    for index, terminal in enumerate(scan.TERMINALS):
        seen = {PARTS[ref]["pins"][f"X{index}"] for ref in ("U11", "U12")}
        assert seen == {f"l{index + 1}" if index else "s1"}
        assert at_line[PARTS[f"R8{index}"]["pins"][1]] == terminal
        assert PARTS["U13"]["pins"][f"X{index}"] == f"p{index + 1}"
        assert at_line[PARTS[f"R10{index + 1}"]["pins"][1]] == terminal
        assert Line(index + 1).name == f"T{terminal.upper()}"


def test_the_ports_bits_are_those_of_the_circuit() -> None:
    pins = PARTS["U10"]["pins"]
    assert [pins[f"GPA{n}"] for n in (0, 1, 2)] == ["drive_a", "drive_b", "drive_c"]
    assert [pins[f"GPA{n}"] for n in (4, 5, 6)] == ["sink_a", "sink_b", "sink_c"]
    assert [pins[f"GPB{n}"] for n in (0, 1, 2)] == ["look_a", "look_b", "look_c"]
    assert (pins["GPA3"], pins["GPA7"], pins["GPB3"]) == ("drive_off", "sink_off", "scan_coil")
    assert (scan.DRIVE_OFF, scan.SINK_OFF, scan.RELAYS) == (1 << 3, 1 << 7, 1 << 3)
    assert i2c_parts.Mcp23017.HELD == (scan.DRIVE_OFF | scan.SINK_OFF, 0)
    addresses = {part["part"]: part["address"] for part in PINS["i2c"]}
    assert (addresses["ADS1115_SCAN"], addresses["MCP23017"]) == (i2c_parts.ADS1115_SCAN, i2c_parts.MCP23017)


def test_the_converters_inputs_are_those_of_the_circuit() -> None:
    pins = PARTS["U14"]["pins"]
    assert [pins[f"A{n}"] for n in range(4)] == ["scan_drive", "scan_sink", "scan_look", "v5"]
    header = (ROOT / "firmware/core/measure/parts.h").read_text("utf-8")
    for name in ("DRIVEN", "SUNK", "LOOK", "SUPPLY"):
        assert f"ADS_{name} = {getattr(scan, name)}" in header


def test_the_input_pins_have_the_resistors_of_the_circuit() -> None:
    assert (inputs.SERIES_OHM, inputs.PULL_OHM) == (ohm("R40"), ohm("R41")) == (ohm("R42"), ohm("R43"))
    assert (ohm("R6"), ohm("R7")) == (inputs.STOP_PULL_OHM, inputs.STOP_OHM)
    assert (PARTS["C5"]["type"], inputs.STOP_FARAD) == ("c_100n", 100e-9)
