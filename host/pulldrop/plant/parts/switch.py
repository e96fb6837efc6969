"""The shape of one virtual switch."""

from typing import Literal

from pydantic import Field

from pulldrop.model.part.pair import Pair
from pulldrop.plant.shape import KindSpecimen


class SwitchSpecimen(KindSpecimen):
    """A switch by its positions; `contact_mohm` of every closed pair."""

    kind: Literal["switch"] = Field(description="kind of part")
    positions: dict[str, tuple[Pair, ...]] = Field(min_length=2, description="closed pairs by position")
    contact_mohm: float = Field(default=5.0, ge=0, le=1e7, description="resistance of a closed pair (assumed)")


SPECIMEN = SwitchSpecimen
