"""The base of every shape that a specimen file is made of; plain numbers, the unit in the name of the field."""

from collections.abc import Mapping
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

    @classmethod
    def sound(cls, rated: Mapping[str, Any]) -> dict[str, object]:
        """Fields of a sound part by its rated values in SI. Raises NotImplementedError where no rating makes a part."""
        raise NotImplementedError(f"no virtual part is made from a rating by {cls.__name__}")

    @classmethod
    def box(cls, rated: Mapping[str, Any]) -> list[dict[str, object]]:
        """Fields of parts as they lie in a box, most of them sound."""
        return [{"title": "sound", **cls.sound(rated)} for _ in range(4)]

    def in_socket(self) -> Any:
        """It as the bench's socket takes it: a `Specimen`. Raises NotImplementedError where its kind has no physics."""
        raise NotImplementedError(f"no bench feeds a part of the kind '{self.kind}' yet")
