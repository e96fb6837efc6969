"""An edge in the microseconds before the coil's switch moves costs neither itself nor the next one."""

from dataclasses import dataclass
from pathlib import Path

import pytest
from desk import Desk
from fake_bench import NC, NO, Toggling

from pulldrop.model.raw import TICKS_PER_S
from pulldrop.plant.bench.bench import PinEdge, Pins
from pulldrop.wire import messages as wire

CLOSED, TICKS = 1 << 31, (1 << 30) - 1
NEXT_S = 2e-3
BEFORE_US = [n / 4 for n in range(8, 36)]
"""Up to 2 us the step has begun, from 8 us on nobody listens yet."""


@dataclass
class Moving(Toggling):
    """A throw opens at a stated time and closes again `NEXT_S` after the coil's switch has moved."""

    switched_s: float = 0.0

    def drive(self, pins: Pins) -> None:
        if pins.coil and not self.pins.coil:
            self.switched_s = self.time_s
        self.pins = pins

    def plan(self, switched_s: float, before_s: float) -> None:
        first = PinEdge(switched_s - before_s, self.throw, False)
        self.ahead = (first, PinEdge(switched_s + NEXT_S, self.throw, True))


def step(elf: Path, bench: Moving) -> tuple[int, ...]:
    """The edges that one step logs."""
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        desk.ask(wire.STEP_COIL, (1843, 1, 0, 3, 1000, 1000, 4, 20, 0))
        return desk.ask(wire.READ_EDGES, (0,)).numbers("edges")


@pytest.mark.parametrize("throw", [NO, NC], ids=["87", "87a"])
def test_the_edge_after_it_is_logged_as_it_was(elf: Path, throw: int) -> None:
    """One from 3.6 to 5.75 us before the switch was lost, and the next; or it had a negative time and ended the log."""
    bench = Moving(throw=throw)
    step(elf, bench)
    for before_us in BEFORE_US:
        again = Moving(throw=throw)
        again.plan(bench.switched_s, before_us * 1e-6)
        words = step(elf, again)
        assert abs(again.switched_s - bench.switched_s) < 2.5e-6, "another branch of the same code"
        assert words and words[-1] & CLOSED, before_us
        assert abs((words[-1] & TICKS) / TICKS_PER_S - NEXT_S) < 10e-6, before_us
        first = words[:-1]
        assert len(first) <= 1 and not any(word & CLOSED or word & TICKS > 40 for word in first), before_us
