"""One short pulse at a contact's pin, at every moment around a look: never told as a state at rest.

Only the compiled firmware shows it: on the native core no time passes between two looks of one pass.
"""

from dataclasses import dataclass
from pathlib import Path

from desk import Desk
from fake_bench import NC, NO, FakeBench

from pulldrop.plant.bench.bench import PinEdge, Pins
from pulldrop.wire import messages as wire

PULSE_S = 300e-6
STEP_S = 4e-6
BOTH = 1 << NO | 1 << NC
FED = (0, 0, 0, 3, 60_000, 1000)
STAIRS = (500, 0, 3, 60_000, 1000, 0, 1, 5, 1 << NO, 1 << NO)
"""One stair of 5 ms that waits for 87 to close."""


@dataclass
class Pulse(FakeBench):
    """87a is closed; 87 closes for one pulse at a moment."""

    edges: tuple[PinEdge, ...] = ()
    low: int = 1 << NC

    def begin(self, at_s: float) -> None:
        self.edges = (PinEdge(at_s, NO, True), PinEdge(at_s + PULSE_S, NO, False))

    def drive(self, pins: Pins) -> None:
        self.pins = pins

    def advance(self, until_s: float) -> list[PinEdge]:
        due = [edge for edge in self.edges if edge.time_s <= until_s]
        self.edges = self.edges[len(due) :]
        for edge in due:
            self.low = self.low | 1 << edge.throw if edge.closed else self.low & ~(1 << edge.throw)
        self.time_s = until_s
        return due

    def closed(self) -> int:
        return self.low & self.pins.dry

    def snapshot(self) -> object:
        return self.time_s, self.pins, self.low, self.edges

    def restore(self, snapshot: object) -> None:
        self.time_s, self.pins, self.low, self.edges = snapshot  # type: ignore[misc]  # what snapshot() made


def test_a_pulse_between_the_two_looks_of_a_status_is_no_state(elf: Path) -> None:
    """Closed, at rest: over 16 us of each status."""
    bench = Pulse()
    told = []
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        desk.ask(wire.HOLD_COIL, FED)
        desk.run(0.03)
        for number in range(100):
            bench.begin(desk.machine.time_s + 250e-6 + number * STEP_S)
            status = desk.ask(wire.STATUS)
            told.append((status.number("contacts"), status.number("restless")))
            desk.run(0.012)
    assert (BOTH, 0) not in told
    assert any(restless for _, restless in told) and (1 << NC, 0) in told


def test_a_pulse_between_the_two_looks_of_a_walk_ends_no_walk(elf: Path) -> None:
    """A drop-out of 1.1 V read as 1.6 V, and a part that had failed passed: over 32 us of each look."""
    bench = Pulse()
    landed = []
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        desk.ask(wire.HOLD_COIL, FED)
        desk.run(0.03)
        for number in range(100):
            desk.run(1e-3 - desk.machine.time_s % 1e-3)  # each walk at the same phase of the board's millisecond
            bench.begin(desk.machine.time_s + 6.35e-3 + number * STEP_S)
            walk = desk.ask(wire.STAIRCASE, STAIRS)
            landed.append(bool(walk.number("stopped")) and not walk.number("restless"))
            desk.run(0.0137)
    assert not any(landed)
