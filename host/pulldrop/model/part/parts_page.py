"""Parts as a list shows them, one page at a time, and what is said where there is nothing to show."""

from datetime import datetime

from pulldrop.model.part.event import Card
from pulldrop.model.raw import Frozen
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Overall


class PartState(Frozen):
    """One part: its card, where it is, how often it was tested, and how its last run ended; None when never tested."""

    id: str
    simulated: bool
    runs: int
    card: Card
    place: str
    overall: Overall | None = None
    mark: Mark | None = None
    at: datetime | None = None


class PartsPage(Frozen):
    """A page of the list, or what was found for `asked`. `page` counts from 1; `parts` there are `count` of in all.

    `meant`: the part whose very id was asked for; others may have that id in another store. `more`: not everything
    that was found is shown.
    """

    asked: str
    parts: tuple[PartState, ...]
    page: int = 1
    pages: int = 1
    count: int = 0
    meant: str = ""
    more: bool = False


class NotThere(Exception):
    """Nothing of that name is kept. The message is a sentence; `near` are parts that were probably meant."""

    def __init__(self, sentence: str, near: tuple[PartState, ...] = ()) -> None:
        super().__init__(sentence)
        self.near = near


class Unreadable(Exception):
    """What is kept cannot be read now; the message is a sentence with what to do."""
