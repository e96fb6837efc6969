"""A virtual board that also writes down what its part really did: the moments of touch after every coil step, and in
its first make.

Rule: they are the plant's own, before pins, latencies and the board's clock; the code that measures never sees them.
"""

from typing import Any

from pulldrop.board.request_types import Drive, Pulse
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.model.raw import Capture, Contact, PulseCounts
from pulldrop.plant.bench.frontend import BRANCH_OHM
from pulldrop.plant.relay.relay import NC, NO
from pulldrop.plant.specimen import Specimen

Touch = tuple[float, int, bool]
"""Time, throw, closed."""
SUPPLY_V = 12.0


class Listening(VirtualBoard):
    """`bounces`: of every coil step behind the first make, in order, the seconds from first closing to last change, by
    throw that closed. `first_s`: of the first make, from the step to the first closing of NO; `first_v`: its coil's
    volts; `first_ohm`: of each throw as it was loaded for the first time.
    """

    def __init__(self, specimen: Specimen, seed: int) -> None:
        super().__init__(specimen, seed)
        self.bounces: list[dict[int, float]] = []
        self.first_s: float | None = None
        self.first_v = 0.0
        self.first_ohm: dict[int, float] = {}

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        relay, touches = self.plant.relay, list[Touch]()
        advance = relay.advance

        def listened(until: float) -> list[Touch]:
            changes = advance(until)
            touches.extend(changes)
            return changes

        relay.advance = listened  # type: ignore[method-assign]  # listened to for one step
        try:
            return super().step_coil(drive, window_ms, divider, low_side)
        finally:
            relay.advance = advance  # type: ignore[method-assign]
            if self.first_v:
                self.bounces.append(_bounces(touches))
            else:
                around = relay.circuit()
                self.first_v = around.plus_v - around.low_side_v
                self.first_s = min((at for at, throw, closed in touches if throw == NO and closed), default=None)
                if self.first_s is not None:
                    self.first_s -= self._stepped_at

    def _step(self, *given: Any) -> Capture:
        self._stepped_at = self.plant.time_s
        return super()._step(*given)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        throw = NO if pulse.throw is Contact.NO else NC
        if pulse.branches:
            amps = sum(SUPPLY_V / ohm for bit, ohm in enumerate(BRANCH_OHM) if pulse.branches >> bit & 1)
            self.first_ohm.setdefault(throw, self.plant._contact_ohm(throw, amps))
        return super().load_pulse(pulse)


class Heard(Listening):
    """A full one."""


class HeardEvening(Listening, EveningBoard):
    """One of an evening build."""


def _bounces(touches: list[Touch]) -> dict[int, float]:
    found = {}
    for throw in (NO, NC):
        own = [(at, closed) for at, which, closed in touches if which == throw]
        closings = [at for at, closed in own if closed]
        if closings and own[-1][1]:
            found[throw] = own[-1][0] - closings[0]
    return found
