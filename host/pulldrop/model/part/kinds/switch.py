"""Switches: the pairs that one closes in each position, and what is promised of it. No protocol tests one yet."""

from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field

from pulldrop.model.part.pair import Pair, PairTable
from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import Amps, KindRating, Volts


def _switches(positions: dict[str, tuple[Pair, ...]]) -> dict[str, tuple[Pair, ...]]:
    if len(positions) < 2:
        raise ValueError("a switch has two positions at least")
    if not any(positions.values()):
        raise ValueError("no position closes a pair; expected one such as 'park: [30-58]'")
    if len({frozenset(closed) for closed in positions.values()}) < 2:
        raise ValueError("every position closes the same pairs; expected a difference between two of them")
    return positions


Positions = Annotated[dict[str, tuple[Pair, ...]], AfterValidator(_switches)]
"""Closed pairs by position."""


def _told(positions: dict[str, tuple[Pair, ...]]) -> str:
    table = PairTable(positions)
    told = "; ".join(f"{name}: {table.at(name)}" for name in positions)
    return f"switch of {len(positions)} positions ({told})"


class Switch(Part):
    """A switch that is moved by hand."""

    noun: ClassVar[str] = "a switch"
    plural: ClassVar[str] = "switches"

    kind: Literal["switch"] = "switch"
    positions: Positions

    def __str__(self) -> str:
        return _told(self.positions)


class SwitchRating(KindRating):
    """Rated values of a switch in SI; what its maker does not give stays None."""

    kind: Literal["switch"] = Field(description="kind of part: switch")
    positions: Positions = Field(description="closed pairs by position", examples=["park: [30-58]"])
    nominal: Volts | None = Field(default=None, description="voltage of the system that it is made for")
    contact: Amps | None = Field(default=None, description="rated current of its contacts")

    def part(self, id: str = "") -> Switch:
        """See `KindRating`."""
        return Switch(id=id, positions=self.positions)

    def __str__(self) -> str:
        return _told(self.positions)


PART, RATING = Switch, SwitchRating
