"""What sound parts of one type read: the reference that tells a fault from another design.

Rule: a reference holds no ids of parts; it says how many there were and how they were tested.
"""

from pydantic import Field

from pulldrop.model.raw import Frozen

LEAST_PARTS = 3
"""Of fewer parts nobody can say which of them stands alone."""


class Figure(Frozen):
    """One measurement of the parts: `middle` in SI, `spread` the standard deviation of its logarithm between parts."""

    parts: int = Field(ge=1)
    middle: float = Field(gt=0)
    spread: float = Field(ge=0)


class TypeReference(Frozen):
    """Sound parts of one type, tested by one protocol. `clamp`: what held their spike; empty: nobody saw it."""

    protocol: str
    version: int
    nominal_v: float = Field(gt=0)
    form: str
    parts: int = Field(ge=LEAST_PARTS)
    clamp: str = ""
    figures: dict[str, Figure]
