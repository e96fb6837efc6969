"""The shape of one virtual switch."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from pulldrop.plant.shape import KindSpecimen


def _two_terminals(written: str) -> str:
    ends = written.split("-")
    if len(ends) != 2 or ends[0] == ends[1] or not all(ends):
        raise ValueError(f"'{written[:40]}' names no two terminals; expected two joined by a hyphen, like '30-87'")
    return written


Pair = Annotated[str, AfterValidator(_two_terminals)]


class SwitchSpecimen(KindSpecimen):
    """A switch by its positions; `contact_mohm` of every closed pair."""

    kind: Literal["switch"] = Field(description="kind of part")
    positions: dict[str, tuple[Pair, ...]] = Field(min_length=2, description="closed pairs by position")
    contact_mohm: float = Field(default=5.0, ge=0, le=1e7, description="resistance of a closed pair (assumed)")


SPECIMEN = SwitchSpecimen
