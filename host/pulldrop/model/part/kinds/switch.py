"""Switches: the pairs that one closes in each position, and what is promised of it."""

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from pulldrop.model.part.pair import Pair, PairTable
from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import Amps, KindRating, Volts


def _switches(positions: dict[str, tuple[Pair, ...]]) -> dict[str, tuple[Pair, ...]]:
    if not positions:
        return positions
    if len(positions) < 2:
        raise ValueError("a switch has two positions at least")
    if not any(positions.values()):
        raise ValueError("no position closes a pair; expected one such as 'park: [30-58]'")
    if len({frozenset(closed) for closed in positions.values()}) < 2:
        raise ValueError("every position closes the same pairs; expected a difference between two of them")
    return positions


def _known(springs: Mapping[str, str], positions: Mapping[str, object]) -> None:
    for name in (*springs, *springs.values()):
        if name not in positions:
            raise ValueError(f"'{name}' is no position of it; known are {', '.join(positions)}")


Positions = Annotated[dict[str, tuple[Pair, ...]], AfterValidator(_switches)]
"""Closed pairs by position; empty where they are not known yet."""


def _told(positions: dict[str, tuple[Pair, ...]]) -> str:
    if not positions:
        return "switch whose table is not known yet"
    table = PairTable(positions)
    told = "; ".join(f"{name}: {table.at(name)}" for name in positions)
    return f"switch of {len(positions)} positions ({told})"


class Switch(Part):
    """A switch that is moved by hand. `springs`: from a held position to the one that it goes back to by itself."""

    noun: ClassVar[str] = "a switch"
    plural: ClassVar[str] = "switches"
    command: ClassVar[str] = "switch"
    ratings: ClassVar[str] = "switches"

    kind: Literal["switch"] = "switch"
    positions: Positions
    springs: dict[str, str] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _of_positions(self) -> Self:
        _known(self.springs, self.positions)
        return self

    def __str__(self) -> str:
        return _told(self.positions)


class SwitchRating(KindRating):
    """Rated values of a switch in SI; what its maker does not give stays None."""

    kind: Literal["switch"] = Field(description="kind of part: switch")
    positions: Positions = Field(description="closed pairs by position", examples=["park: [30-58]"])
    springs: dict[str, str] = Field(
        default_factory=dict, description="held position, and where it springs back to", examples=["start: on"]
    )
    terminals: tuple[str, ...] = Field(
        default=(), description="terminals in the order of the bench's lines; else as the table names them"
    )
    count: int | None = Field(default=None, ge=2, le=24, description="positions that a person counts on it")
    nominal: Volts | None = Field(default=None, description="voltage of the system that it is made for")
    contact: Amps | None = Field(default=None, description="rated current of its contacts")

    @model_validator(mode="after")
    def _of_positions(self) -> Self:
        _known(self.springs, self.positions)
        return self

    @property
    def order(self) -> tuple[str, ...]:
        """Terminals in the order of the bench's lines."""
        return self.terminals or tuple(
            dict.fromkeys(name for ends in self.positions.values() for one in ends for name in (one.a, one.b))
        )

    def part(self, id: str = "") -> Switch:
        """See `KindRating`."""
        return Switch(id=id, positions=self.positions, springs=self.springs)

    def __str__(self) -> str:
        return _told(self.positions)


PART, RATING = Switch, SwitchRating
