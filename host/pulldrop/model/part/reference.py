"""What sound parts of one type read: the reference that tells a fault from another design.

Rule: a reference holds no ids of parts; it says how many there were, how they were tested, where and when.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from pydantic import Field

from pulldrop.model.part.relay import Form
from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.reading import Finding

LEAST_PARTS = 3
"""Of fewer parts nobody can say which of them stands alone."""


@dataclass(frozen=True, slots=True)
class Sibling:
    """One sound part of a type: what it read, on which board (kind and serial number), and when."""

    found: Sequence[Finding]
    bench: OneLine
    simulated: bool
    tested: date


class Figure(Frozen):
    """One measurement of the parts: `middle` in SI, `spread` the standard deviation of its logarithm between parts;
    `scatter`: that of single makes of one part, as a share of its value; None where nobody looked."""

    parts: int = Field(ge=LEAST_PARTS)
    middle: float = Field(gt=0, allow_inf_nan=False)
    spread: float = Field(ge=0, le=2)
    scatter: float | None = Field(default=None, ge=0, le=2)


class TypeReference(Frozen):
    """Sound parts of one type, tested by one protocol. `clamp`: what held their spike; empty: nobody saw it.

    `bench`: kind and serial number of the boards that measured; `made`: when the last part was tested.
    """

    siblings: str = Field(description="the rating that they were tested by", min_length=1, max_length=60)
    protocol: OneLine
    version: int
    nominal_v: float = Field(gt=0, allow_inf_nan=False)
    form: Form
    clamp: OneLine = ""
    parts: int = Field(ge=LEAST_PARTS)
    simulated: bool
    bench: OneLine = ""
    made: date
    figures: dict[str, Figure]
