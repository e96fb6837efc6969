"""A limit as it is applied: numbers in SI, and where they come from."""

from typing import Literal

from pulldrop.model.raw import Frozen

Known = Literal["read", "second hand", "calculated", "from memory", "common practice", "assumed"]


class Source(Frozen):
    """Where a figure comes from, and how it is known."""

    text: str
    known: Known


class Limit(Frozen):
    """`low` and `high` in the reading's unit, either may be None; `state` for contact states.

    `text` is the limit as a person reads it, e.g. "<= 8.40 V (70 % of nominal 12 V)".
    """

    text: str
    source: Source
    unit: str
    low: float | None = None
    high: float | None = None
    state: str | None = None
