"""How late the board logs an edge, and which edges of 87a may have waited for another of its interrupts.

Rule: figures are those of the compiled firmware, edge by edge (tests/emulator/edges/test_edges_late.py), and those of
the way to the pin from its deck at all corners (tests/hardware/test_decks_pins.py).
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
interrupt that reads the timer after its prologue."""
PIN = {"closes": (4.2, 3.8), "opens": (3.2, 2.9), "opens, no load": (36.0, 36.0)}
"""Ticks from a contact's edge until its pin has passed the chip's threshold, and how far from that it may be: 27 kohm
and what is stray; without a load supply the dry source lifts the load bus too when a contact opens."""


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


@dataclass(frozen=True, slots=True)
class End:
    """An edge at which a time starts or ends: of which throw, whether it closes, and whether there is a load supply."""

    throw: Contact
    closes: bool
    loaded: bool

    @property
    def pin(self) -> tuple[float, float]:
        """As `PIN` has it."""
        return PIN["closes" if self.closes else "opens" if self.loaded else "opens, no load"]

    @property
    def late(self) -> float:
        """Ticks from the contact's edge until it is logged."""
        return LATENCY[self.throw][0] + self.pin[0]


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


def made(span: Span, start: End | None, end: End) -> TimedMake:
    """One make's time from an edge (None: the step) to another, latency taken off."""
    if start == end and span.start == span.end:
        return TimedMake(0.0, 0.0, 0.0)
    before = may_have_waited(span.start, start.throw) if start else 0
    after = may_have_waited(span.end, end.throw)
    late = end.late - (start.late if start else -STEP_LATENCY[0])
    return TimedMake(span.end - span.start - late - (after - before) / 2, before / 2, after / 2)


def room(start: End | None, end: End) -> Any:
    """Zero ticks, with what is not known of the latency of both edges of a time; the way to one pin is the same for
    both ends of a bounce, which close."""
    off = math.hypot(LATENCY[end.throw][1], LATENCY[start.throw][1] if start else STEP_LATENCY[1])
    pins = () if start == end else (end.pin[1], start.pin[1] if start else 0.0)
    known = rectangular(off, "edge latency", "capture and interrupts")
    return known + rectangular(math.hypot(*pins), "edge at its pin", "thresholds and what is stray: deck of the pins")


def waiting(makes: Sequence[TimedMake]) -> Any:
    """Zero ticks, with what the waiting leaves open of the makes' median.

    Common to all of them: the makes of one part switch at about the same moment after the step. Both ends of a bounce
    have nothing to do with each other.
    """
    ends = (statistics.fmean(make.before for make in makes), statistics.fmean(make.after for make in makes))
    return sum(rectangular(off, "waiting", "edges of 87a behind another interrupt") for off in ends)


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
    """Ticks from the coil's step until a throw that was loaded opens for good, latency taken off; None when it is not
    seen to."""
    span = edges.from_step(edges.opening(capture, throw))
    return None if span is None else made(span, None, End(throw, closes=False, loaded=True)).ticks


def unclear(capture: Capture, throw: Contact = Contact.NO) -> bool:
    """Whether a throw moves and its edges show no opening that lasts, or were too many to be logged."""
    moves = capture.edges_lost or any(e.contact == throw for e in capture.edges)
    return bool(moves) and opened(capture, throw) is None
