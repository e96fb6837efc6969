"""From the edges of one capture to times in ticks; pure arithmetic, no board.

Definitions, as in makers' sheets: operate and release exclude bounce; bounce is first to last edge;
operate ends at the first closing of NO, without NO at the first opening of NC; release ends at the first closing of
NC, without NC at the first opening of NO; transfer is from the last opening of NC to the first closing of NO.
"""

from itertools import pairwise
from typing import NamedTuple

from pulldrop.model.raw import TICKS_PER_S, Capture, Contact


class Span(NamedTuple):
    """A time between two edges, as ticks since the step; from the step itself `start` is 0."""

    start: int
    end: int


def from_step(tick: int | None) -> Span | None:
    """The time from the step of the coil to one edge."""
    return None if tick is None else Span(0, tick)


def first_closing(capture: Capture, contact: Contact) -> int | None:
    """Tick of the first closing of one throw, None when it never closes."""
    return next((e.tick for e in capture.edges if e.contact == contact and e.closed), None)


def first_opening(capture: Capture, contact: Contact) -> int | None:
    """Tick of the first opening of one throw, None when it never opens."""
    return next((e.tick for e in capture.edges if e.contact == contact and not e.closed), None)


def first(capture: Capture, contact: Contact, closes: bool) -> int | None:
    """Tick of the first closing or opening of one throw, None when there is none."""
    return first_closing(capture, contact) if closes else first_opening(capture, contact)


REST_TICKS = 3 * TICKS_PER_S // 1000
"""A throw that rests for so long is done with bouncing: between the edges of a bounce are 1 ms or less."""


def rests(capture: Capture, contact: Contact) -> bool:
    """Whether a throw is seen to have come to rest: no edge shortly before the window's end, and none lost."""
    last = max((e.tick for e in capture.edges if e.contact == contact), default=0)
    return not capture.edges_lost and last <= capture.window_ticks - REST_TICKS


def moves_again(capture: Capture, contact: Contact) -> bool:
    """Whether a throw rests and then moves once more: no bounce, but a contact that chatters or noise on its wire."""
    ticks = [e.tick for e in capture.edges if e.contact == contact]
    return any(later - tick > REST_TICKS for tick, later in pairwise(ticks))


def change(capture: Capture, contact: Contact, closes: bool) -> int | None:
    """Tick of the first closing or opening of one throw that ends closed or open so; None when it does not.

    Where edges were lost nobody knows how it ends, and the first one counts.
    """
    states = [e.closed for e in capture.edges if e.contact == contact]
    ends_so = capture.edges_lost or states[-1:] == [closes]
    return first(capture, contact, closes) if ends_so else None


def opening(capture: Capture, contact: Contact) -> int | None:
    """Tick from which on a throw is open but for bounces; None when it ends closed, or edges were lost.

    What opened it before it was closed and at rest once more was noise, or no opening that lasted.
    """
    found, closed_at = None, 0
    for edge in (e for e in capture.edges if e.contact == contact):
        if edge.closed:
            closed_at = edge.tick
        elif found is None or edge.tick - closed_at > REST_TICKS:
            found = edge.tick
    ends_open = not capture.edges_lost and change(capture, contact, closes=False) is not None
    return found if ends_open else None


def bouncing(capture: Capture, contact: Contact) -> Span | None:
    """From the first closing to the last edge of a throw that ends closed; None when it does not close.

    None also when its end was not seen, where the throw did not come to rest or edges had no room, and when it moves
    again after a rest.
    """
    start = change(capture, contact, closes=True)
    if start is None or not rests(capture, contact) or moves_again(capture, contact):
        return None
    return Span(start, max(e.tick for e in capture.edges if e.contact == contact))


def bounce(capture: Capture, contact: Contact) -> int | None:
    """Ticks for which a throw bounces; None as for `bouncing`."""
    span = bouncing(capture, contact)
    return None if span is None else span.end - span.start


def transfer(capture: Capture) -> Span | None:
    """From the last opening of NC before NO's first closing, to that closing; None when either is missing."""
    closing = first_closing(capture, Contact.NO)
    if closing is None:
        return None
    openings = [e.tick for e in capture.edges if e.contact == Contact.NC and not e.closed and e.tick <= closing]
    return Span(openings[-1], closing) if openings else None
