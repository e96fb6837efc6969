"""What every virtual part says of itself, and how pairs of its terminals are written."""

from typing import Annotated

from pydantic import AfterValidator, Field

from pulldrop.plant.shape import Shape


def _two_terminals(written: str) -> str:
    ends = written.split("-")
    if len(ends) != 2 or ends[0] == ends[1] or not all(ends):
        raise ValueError(f"'{written[:40]}' names no two terminals; expected two joined by a hyphen, like '30-87'")
    return written


Pair = Annotated[str, AfterValidator(_two_terminals)]


class Part(Shape):
    """Everything is invented unless it says otherwise."""

    title: str = Field(description="one line that a person reads")
    invented: bool = Field(default=True, description="true: no real part was measured for it")
    donor: str = Field(default="", description="where the part was pulled from")
    notes: str = Field(default="", description="what this specimen shows")
