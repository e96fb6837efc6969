"""Parts and runs as lists show them, one page at a time, and what is said where there is nothing to show."""

from dataclasses import dataclass
from datetime import datetime

from pydantic import computed_field

from pulldrop.model.origin import Origin, WithOrigin, origin_of
from pulldrop.model.part.event import Card
from pulldrop.model.part.kinds import AnyPart
from pulldrop.model.raw import Frozen
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Overall


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run as a list shows it; `simulated` and `origin` stand in every line."""

    run: str
    part: str
    simulated: bool
    origin: Origin
    started: datetime
    ended: datetime | None
    protocol: str
    protocol_version: int
    rating: str
    board_kind: str
    operator: str
    overall: Overall
    mark: Mark | None = None


class PartView(WithOrigin):
    """One part with its card, where it is, how often it was tested, and its last run if it has one.

    `also`: ids that it has in other stores, and had here before it was joined. `numbers`: crate and number, such as
    `north shed 12`, where they were asked for. `card_came`, `place_came`: from outside
    or not.
    """

    part: AnyPart
    simulated: bool
    runs: int
    last: RunLine | None
    card: Card
    place: str
    also: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    card_came: Origin = Origin.HERE
    place_came: Origin = Origin.HERE

    @computed_field  # type: ignore[prop-decorator]
    @property
    def origin(self) -> Origin:
        """What its last run may be called; of a part without one, only that it is simulated."""
        return self.last.origin if self.last else origin_of(self.simulated, None)


class PartsPage(Frozen):
    """A page of the list, or what was found for `asked`. `page` counts from 1; `parts` there are `count` of in all.

    `meant`: the part whose very id was asked for; others may have that id in another store. `more`: not everything
    that was found is shown.
    """

    asked: str
    parts: tuple[PartView, ...]
    page: int = 1
    pages: int = 1
    count: int = 0
    meant: str = ""
    more: bool = False


class NotThere(Exception):
    """Nothing of that name is kept. The message is a sentence; `near` are parts that were probably meant."""

    def __init__(self, sentence: str, near: tuple[PartView, ...] = ()) -> None:
        super().__init__(sentence)
        self.near = near


class Unreadable(Exception):
    """What is kept cannot be read now; the message is a sentence with what to do."""
