"""An edge close to an overflow of the timer costs nothing: firmware and emulator both count the overflow."""

from dataclasses import dataclass
from pathlib import Path

from desk import Desk
from fake_bench import NO, Toggling

from pulldrop.model.raw import TICKS_PER_S
from pulldrop.plant.bench.bench import PinEdge, Pins
from pulldrop.wire import messages as wire

STARTED_S = 0.5e-3
"""From power-on until the timer counts, about."""
OVERFLOW_S = 65536 / TICKS_PER_S
AROUND_S, APART_S, LAST_S = 150e-6, 25e-6, 35e-3
TICKS = (1 << 30) - 1


@dataclass
class AroundOverflow(Toggling):
    """NO bounces evenly around the timer's first overflow after the step, and moves once more much later."""

    shift_s: float = 0.0

    def drive(self, pins: Pins) -> None:
        if pins.coil != self.pins.coil:
            middle_s = STARTED_S + OVERFLOW_S * ((self.time_s - STARTED_S) // OVERFLOW_S + 1)
            first_s = max(middle_s - AROUND_S, self.time_s + 1e-4) + self.shift_s
            bounces = [first_s + n * APART_S for n in range(round(2 * AROUND_S / APART_S))]
            times = [*bounces, self.time_s + LAST_S]
            self.ahead = tuple(PinEdge(at, self.throw, self.open ^ (n % 2 == 1)) for n, at in enumerate(times))
        self.pins = pins


def test_no_edge_is_lost_for_an_overflow_that_came_while_another_was_seen_to(elf: Path) -> None:
    bench = AroundOverflow(throw=NO, open=True)
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        for step in range(13):
            desk.answers.clear()
            bench.shift_s = step * 2e-6
            done = desk.ask(wire.STEP_COIL, (1843, 1 - step % 2, 0, 3, 1000, 1000, 40, 20, 0))
            words: list[int] = []
            while more := desk.ask(wire.READ_EDGES, (len(words),)).numbers("edges"):
                words += more
            assert done.number("edges") == len(words) == 13, step
            assert (words[-1] & TICKS) / TICKS_PER_S - LAST_S < 1e-5, step
            desk.run(0.05)
