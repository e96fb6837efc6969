"""When the firmware sees an edge of a contact, and which it never sees; for the board that has no firmware.

Rule: as the compiled firmware does it in the AVR emulator, edge by edge (tests/emulator/edges/test_edges_late.py).
Terminal 87 goes to the hardware capture behind its noise canceller (4 cycles, ATmega328P data sheet). Terminal 87a goes
to a pin-change interrupt, which reads the timer after its prologue, and waits when another interrupt is at work: the
sampling, every 50 us from the step on, and the tick of the millisecond, from which the step itself was made.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pulldrop.plant.bench.bench import PinEdge
from pulldrop.plant.noise import Chance
from pulldrop.plant.relay.relay import NC


@dataclass(frozen=True, slots=True)
class Latency:
    """Of one board: from the moment at which the firmware begins to count until the coil's switch moves, and from an
    edge of either throw until it is logged."""

    step_s: float = 3.15e-6
    no_s: float = 0.25e-6
    nc_s: float = 2.95e-6


TYPICAL = Latency()
STEP_ROOM_S, EDGE_ROOM_S = 0.5e-6, 0.25e-6
"""How far from that a board may be: the charge of the switch's gate, and what is stray at an input behind 27 kohm."""
BUSY_S = ((50e-6, 5.2e-6, 14.6e-6), (1e-3, 902.0e-6, 920.6e-6))
"""Interrupts that make 87a wait: how often they come; from when to when they take, since counting began."""


def of_board(chance: Chance) -> Latency:
    """One board's, inside those rooms."""
    return Latency(
        TYPICAL.step_s + chance.within(STEP_ROOM_S),
        TYPICAL.no_s + chance.within(EDGE_ROOM_S),
        TYPICAL.nc_s + chance.within(EDGE_ROOM_S),
    )


def logged(edges: Iterable[PinEdge], disturbed: bool, late: Latency = TYPICAL) -> list[PinEdge]:
    """Edges, in seconds since the coil's switch moved, as the firmware logs them, in order: in seconds since it began
    to count. Not `disturbed`: nothing is ever in the way.
    """
    counted = [PinEdge(e.time_s + late.step_s, e.throw, e.closed) for e in edges]
    captured = [PinEdge(e.time_s + late.no_s, e.throw, e.closed) for e in counted if e.throw != NC]
    interrupts = _by_interrupt([e for e in counted if e.throw == NC], disturbed, late.nc_s)
    return sorted([*captured, *interrupts], key=lambda e: e.time_s)


def _by_interrupt(edges: list[PinEdge], disturbed: bool, late_s: float) -> Iterator[PinEdge]:
    """An edge that is gone again when the interrupt looks at the pin is not seen, and neither is the one back."""
    at = 0
    while at < len(edges):
        first = edges[at]
        seen_s = (_free(first.time_s) if disturbed else first.time_s) + late_s
        while at < len(edges) and edges[at].time_s <= seen_s:
            last = edges[at]
            at += 1
        if last.closed == first.closed:
            yield PinEdge(seen_s, NC, last.closed)


def _free(at_s: float) -> float:
    """When the interrupt of an edge can begin: at once, or when the one that is at work has ended."""
    for every, begins, ends in BUSY_S:
        phase = at_s % every
        if begins < phase < ends:
            return at_s + ends - phase
    return at_s
