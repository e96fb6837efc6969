"""What is known of a part besides its measurements: its card, and what happened to it between two tests.

Rule: nothing is changed; a card that is corrected, or an event that is withdrawn, is a new event that points to the old
one, and where a part is now follows from the events that stand.
"""

from collections.abc import Iterable
from datetime import datetime
from enum import StrEnum

from pulldrop.model.origin import Origin
from pulldrop.model.raw import Frozen, OneLine


class PartEventKind(StrEnum):
    """DESCRIBED: its card was rewritten. NAMED: another store knows it by another id. JOINED: it is the
    part `into`. WITHDRAWN: an event was not so.
    """

    DESCRIBED = "described"
    FITTED = "fitted"
    REMOVED = "removed"
    CLEANED = "cleaned"
    MOVED = "moved"
    NOTE = "note"
    PHOTO = "photo"
    NAMED = "named"
    JOINED = "joined"
    WITHDRAWN = "withdrawn"


WITHDRAWABLE = frozenset(PartEventKind) - {PartEventKind.DESCRIBED, PartEventKind.NAMED, PartEventKind.WITHDRAWN}
"""A card is corrected by another one, a name belongs to another store, and a withdrawn event can be rewritten."""


class Card(Frozen):
    """`printed`: what the body says; `sheet`: the maker's sheet, or a rating's name; `position`: its place there."""

    description: OneLine = ""
    printed: OneLine = ""
    sheet: OneLine = ""
    donor: OneLine = ""
    position: OneLine = ""
    notes: OneLine = ""


class PartEvent(Frozen):
    """`id` is given by the store; `at` is when it happened, not when it was written. `place`: where the part is since.

    `photo`: the file's name, which is the hash of its content; `card` of a description; `name`: the other id;
    `into`: the id of the part that it is; `withdraws`: the id of the event that was not so. `came`: from outside or
    not, as the store knows it; no body of an event says that.
    """

    part: str
    at: datetime
    kind: PartEventKind
    text: OneLine = ""
    place: OneLine = ""
    photo: OneLine = ""
    card: Card | None = None
    operator: OneLine = ""
    name: OneLine = ""
    into: str = ""
    withdraws: str = ""
    id: str = ""
    came: Origin = Origin.HERE


def standing(events: Iterable[PartEvent]) -> tuple[PartEvent, ...]:
    """Those that still count: neither withdrawn nor a withdrawal."""
    events = tuple(events)
    gone = {event.withdraws for event in events}
    return tuple(event for event in events if not event.withdraws and event.id not in gone)


def card_of(events: Iterable[PartEvent], first: Card, came: Origin) -> tuple[Card, Origin]:
    """The card as it was written last, and where that came from; `first`, which `came` so, where none was."""
    cards = [(event.card, event.came) for event in events if event.card is not None]
    return cards[-1] if cards else (first, came)


def place_of(events: Iterable[PartEvent]) -> tuple[str, Origin]:
    """Where it is now, by the last event that says, and where that came from; empty when none does."""
    where, came = "", Origin.HERE
    for event in events:
        if event.place:
            where = f"fitted: {event.place}" if event.kind is PartEventKind.FITTED else event.place
            came = event.came
        elif event.kind is PartEventKind.REMOVED:
            where, came = "removed; no place was recorded", event.came
    return where, came
