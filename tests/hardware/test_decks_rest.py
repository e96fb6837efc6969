"""The bench in ngspice while nothing is asked of it: nothing of it holds a terminal, and no reset switches a load."""

import pytest
from making import circuit
from making.decks import at_rest
from making.decks.spice import run

from pulldrop.measure.self_test.terminals import LIT_V, TO_30_A
from pulldrop.model.raw import Line
from pulldrop.plant.bench import scan

WHOLE = circuit.load()
WIRES = at_rest.ground_wires(WHOLE)
DRIVE_OHM = scan.END_OHM + scan.MUX_OHM
"""From 5 V to the line end of R82 or R83."""


@pytest.mark.parametrize(("line", "terminal", "told"), [("l3", "t87", Line.T87), ("l4", "t87a", Line.T87A)])
def test_an_empty_terminal_that_the_scan_drives_is_held_down_by_nothing(line: str, terminal: str, told: Line) -> None:
    """The self-test's limits, and the virtual bench: body diodes of the load switches and R77 take 0.3 mA, no more."""
    seen = run(at_rest.rest(WHOLE, line, DRIVE_OHM))
    amps = (5.0 - seen[line]) / DRIVE_OHM
    assert seen[terminal] > LIT_V[told]
    assert amps < TO_30_A
    a, b = scan.ports(int(told), 0, int(told))
    mine = scan.full((), scan.ScanErrors(), 5.0, 0.0, (247e3, 247e3), a, b)
    assert seen[terminal] == pytest.approx(mine.look, abs=0.1)


@pytest.mark.parametrize(("dry", "edge"), [("t87", "edge_no"), ("t87a", "edge_nc")])
def test_a_dry_source_lifts_an_open_throw_to_a_sure_high(dry: str, edge: str) -> None:
    """ATmega328P: a pin is surely high from 0.6 VCC on (data sheet)."""
    assert run(at_rest.rest(WHOLE, dry, 1025.0))[edge] > 1.4 * 0.6 * 5.0


def test_a_reset_of_a_whole_bench_switches_no_load() -> None:
    seen = run(at_rest.released(WHOLE))
    assert seen["load_a"] < 1e-3 and seen["gate_v"] < 0.5


@pytest.mark.parametrize("wire", WIRES, ids="-".join)
def test_no_wire_of_ground_that_comes_off_lets_a_reset_switch_a_load(wire: tuple[str, str]) -> None:
    seen = run(at_rest.released(WHOLE, [wire]))
    assert seen["load_a"] < 1e-3 and seen["gate_v"] < 0.5


def test_board_d_off_ground_with_both_its_wires_loads_no_part_either() -> None:
    """The pull-downs at the pins then hang on the timer's own divider, at 5 V; those at the gates hold."""
    both = [pair for pair in WIRES if "D" in pair]
    assert len(both) == 2
    seen = run(at_rest.released(WHOLE, both))
    assert seen["load_a"] < 1e-3 and seen["gate_v"] < WHOLE["Q15"].type.bounds("vth")[0]


@pytest.mark.parametrize("driven", [True, False])
def test_a_gate_of_the_coil_switch_that_loses_its_wire_lets_the_coil_go(driven: bool) -> None:
    """With its pull-down before the wire the coil would keep its 180 mA, or come up by leakage."""
    seen = run(at_rest.coil_gate_off(WHOLE, driven))
    assert (seen["before_a"] > 0.15) == driven
    assert abs(seen["after_a"]) < 1e-3


@pytest.mark.parametrize("joint", ["R60.1", "R71.1"])
def test_a_gate_of_the_load_that_loses_its_wire_ends_the_load(joint: str) -> None:
    seen = run(at_rest.load_gate_off(WHOLE, joint))
    assert seen["before_a"] > 0.8
    assert abs(seen["after_a"]) < 1e-3
