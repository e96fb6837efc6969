"""When the firmware sees an edge of a contact, and which it never sees; for the board that has no firmware.

Terminal 87 goes to the hardware capture behind its noise canceller. Terminal 87a goes to a pin-change interrupt, which
reads the timer after its prologue, and waits when the sampling interrupt is at work. Figures: 240 edges of the
compiled firmware in the AVR emulator, November 2026, against the plant's exact times: 2.1 to 3.3 us in 83 % of them,
up to 13.6 us in the others; canceller: ATmega328P data sheet, 4 cycles.
"""

from collections.abc import Iterable, Iterator

from pulldrop.plant.bench import PinEdge
from pulldrop.plant.noise import Chance
from pulldrop.plant.relay import NC

NO_LATE_S, NC_LATE_S = 0.25e-6, 2.65e-6
BUSY_SHARE, BUSY_S = 0.17, 11e-6
"""How often an edge meets the sampling interrupt, and what it then waits for at most."""


def logged(edges: Iterable[PinEdge], chance: Chance | None) -> list[PinEdge]:
    """The edges with the times at which they are logged, in order; `chance` None: nothing is ever in the way."""
    all_edges = list(edges)
    captured = [PinEdge(e.time_s + NO_LATE_S, e.throw, e.closed) for e in all_edges if e.throw != NC]
    return sorted([*captured, *_by_interrupt([e for e in all_edges if e.throw == NC], chance)], key=lambda e: e.time_s)


def _by_interrupt(edges: list[PinEdge], chance: Chance | None) -> Iterator[PinEdge]:
    """An edge that is gone again when the interrupt looks at the pin is not seen, and neither is the one back."""
    at = 0
    while at < len(edges):
        first = edges[at]
        seen_s = first.time_s + NC_LATE_S + _wait_s(chance)
        while at < len(edges) and edges[at].time_s <= seen_s:
            last = edges[at]
            at += 1
        if last.closed == first.closed:
            yield PinEdge(seen_s, NC, last.closed)


def _wait_s(chance: Chance | None) -> float:
    if chance is None or chance.uniform() > BUSY_SHARE:
        return 0.0
    return BUSY_S * chance.uniform()
