"""How late the board logs an edge, and which edges of 87a may have waited for another of its interrupts.

Rule: figures are those of the compiled firmware, edge by edge (tests/emulator/edges/test_edges_late.py).
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pulldrop.measure.rig.counts import edges
from pulldrop.measure.rig.counts.budget import rectangular
from pulldrop.measure.rig.counts.edges import Span
from pulldrop.model.raw import Capture, Contact

STEP_LATENCY = (6.3, 1.0)
LATENCY = {Contact.NO: (0.5, 0.5), Contact.NC: (6.0, 0.5)}
"""Ticks of 0.5 us, and how far from that it may be. STEP_LATENCY: counting begins before the coil's switch moves; its
room is the charge of the switch's gate. LATENCY: NO by hardware capture behind a noise canceller of 4 cycles, NC by an
interrupt that reads the timer after its prologue; their room is what is stray at an input behind 27 kohm."""


@dataclass(frozen=True, slots=True)
class Wait:
    """An interrupt that comes `every` so many ticks: an edge of NC that waited for its end, at most for `most` ticks,
    is logged from `first` to `last` of each period."""

    every: int
    first: int
    last: int
    most: int


WAITS = (Wait(100, 33, 40, 19), Wait(2000, 1809, 1890, 37))
"""The sampling, every 50 us from the step on, and the tick of the millisecond, by which the step itself was made."""


def may_have_waited(tick: int, contact: Contact | None) -> int:
    """Ticks for which an edge that was logged at `tick` may have waited; nothing keeps NO or the step waiting."""
    if contact is not Contact.NC:
        return 0
    return max((w.most for w in WAITS if w.first <= tick % w.every <= w.last), default=0)


@dataclass(frozen=True, slots=True)
class TimedMake:
    """A time of one make in ticks, the middle of what it may have been, and how far either edge may be off that."""

    ticks: float
    before: float
    after: float


def made(span: Span, start: Contact | None, end: Contact) -> TimedMake:
    """One make's time from an edge of `start` (None: the step) to one of `end`, latency taken off."""
    if start is end and span.start == span.end:
        return TimedMake(0.0, 0.0, 0.0)
    before, after = may_have_waited(span.start, start), may_have_waited(span.end, end)
    late = LATENCY[end][0] - (LATENCY[start][0] if start else -STEP_LATENCY[0])
    return TimedMake(span.end - span.start - late - (after - before) / 2, before / 2, after / 2)


def room(start: Contact | None, end: Contact) -> Any:
    """Zero ticks, with what is not known of the latency of both edges of a time."""
    off = math.hypot(LATENCY[end][1], LATENCY[start][1] if start else STEP_LATENCY[1])
    return rectangular(off, "edge latency", "capture and interrupts")


def waiting(makes: Sequence[TimedMake]) -> Any:
    """Zero ticks, with what the waiting leaves open of the makes' median.

    Common to all of them: the makes of one part switch at about the same moment after the step. Both ends of a bounce
    have nothing to do with each other.
    """
    ends = (statistics.fmean(make.before for make in makes), statistics.fmean(make.after for make in makes))
    return sum(rectangular(off, "waiting", "edges of NC behind another interrupt") for off in ends)


def prompt(makes: Sequence[TimedMake], least: int) -> Sequence[TimedMake]:
    """The makes that did not wait, if `least` of them are left, else all.

    Only for a time that does not tell when NC switched: from NC to NO. Of a release it would be a choice by its length.
    """
    found = [make for make in makes if not make.before + make.after]
    return found if len(found) >= min(least, len(makes)) else makes


UNCLEAR = (
    "its contact moved and was not seen to stay open: it chatters, or there is noise on its wire; look at that wire and"
    " for ignition or welding nearby, then run again"
)


def opened(capture: Capture, throw: Contact = Contact.NO) -> float | None:
    """Ticks from the coil's step until a throw opens for good, latency taken off; None when it is not seen to."""
    span = edges.from_step(edges.opening(capture, throw))
    return None if span is None else made(span, None, throw).ticks


def unclear(capture: Capture, throw: Contact = Contact.NO) -> bool:
    """Whether a throw moves and its edges show no opening that lasts, or were too many to be logged."""
    moves = capture.edges_lost or any(e.contact == throw for e in capture.edges)
    return bool(moves) and opened(capture, throw) is None
