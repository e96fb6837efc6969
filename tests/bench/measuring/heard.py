"""A virtual board that also writes down what its part really did: the moments of touch after every coil step.

Rule: they are the plant's own, before pins, latencies and the board's clock; the code that measures never sees them.
"""

from pulldrop.board.request_types import Drive
from pulldrop.board.virtual import VirtualBoard
from pulldrop.model.raw import Capture
from pulldrop.plant.relay.relay import NC, NO
from pulldrop.plant.specimen import Specimen

Touch = tuple[float, int, bool]
"""Time, throw, closed."""


class Heard(VirtualBoard):
    """`bounces`: of every coil step, in order, the seconds from first closing to last change, by throw that closed."""

    def __init__(self, specimen: Specimen, seed: int) -> None:
        super().__init__(specimen, seed)
        self.bounces: list[dict[int, float]] = []

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
            self.bounces.append(_bounces(touches))


def _bounces(touches: list[Touch]) -> dict[int, float]:
    found = {}
    for throw in (NO, NC):
        own = [(at, closed) for at, which, closed in touches if which == throw]
        closings = [at for at, closed in own if closed]
        if closings and own[-1][1]:
            found[throw] = own[-1][0] - closings[0]
    return found
