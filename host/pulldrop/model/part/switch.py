"""What is promised of a switch: the pairs that it closes in each position. No procedure tests one yet."""

from typing import Literal

from pydantic import Field, field_validator

from pulldrop.model.limit import Source
from pulldrop.model.part.pair import Pair, PairTable
from pulldrop.model.part.rating import Amps, Name, Nominal
from pulldrop.model.raw import Frozen


class SwitchRating(Frozen):
    """Rated values of a switch in SI; what its maker does not give stays None."""

    rating: Name = Field(description="name of the rating, the same as the file's")
    title: str = Field(min_length=1, max_length=120, description="the type of switch, in words")
    source: Source = Field(description="where the figures come from, and how they are known")
    kind: Literal["switch"] = Field(description="what sort of part it is: switch")
    positions: dict[str, tuple[Pair, ...]] = Field(description="closed pairs by position, such as 'park: [30-58]'")
    nominal: Nominal | None = Field(default=None, description="voltage of the system that it is made for")
    contact: Amps | None = Field(default=None, description="rated current of its contacts")
    notes: str = Field(default="", description="what else the sheet says")

    @field_validator("positions")
    @classmethod
    def _switches(cls, positions: dict[str, tuple[Pair, ...]]) -> dict[str, tuple[Pair, ...]]:
        if len(positions) < 2:
            raise ValueError("a switch has two positions at least")
        if not any(positions.values()):
            raise ValueError("no position closes a pair; expected one such as 'park: [30-58]'")
        if len({frozenset(closed) for closed in positions.values()}) < 2:
            raise ValueError("every position closes the same pairs; expected a difference between two of them")
        return positions

    @property
    def table(self) -> PairTable:
        """Closed pairs by position."""
        return PairTable(self.positions)

    def __str__(self) -> str:
        told = "; ".join(f"{name}: {self.table.at(name)}" for name in self.positions)
        return f"switch of {len(self.positions)} positions ({told})"
