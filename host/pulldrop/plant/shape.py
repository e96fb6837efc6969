"""The base of every shape that a specimen file is made of; plain numbers, the unit in the name of the field."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Shape(BaseModel):
    """Immutable, and no unknown, infinite or undefined value passes."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)


class KindSpecimen(Shape):
    """What specimens of every kind of part have. Everything is invented unless it says otherwise."""

    kind: str
    title: str = Field(description="one line that a person reads")
    invented: bool = Field(default=True, description="true: no real part was measured for it")
    donor: str = Field(default="", description="where the part was pulled from")
    notes: str = Field(default="", description="what this specimen shows")

    def in_socket(self) -> Any:
        """It as the bench's socket takes it: a `Specimen`. Raises NotImplementedError where its kind has no physics."""
        raise NotImplementedError(f"no bench feeds a part of the kind '{self.kind}' yet")
