"""Where a record comes from: measured here, simulated, or from outside. Rule: what is not known to be measured here
never reads as if it were; `simulated` follows from the kind of the board, here and nowhere else.
"""

from collections.abc import Iterable
from datetime import datetime
from enum import StrEnum
from typing import Any, Self

from pydantic import ModelWrapValidatorHandler, computed_field, model_validator

from pulldrop.model.raw import Frozen, OneLine


class Origin(StrEnum):
    """From the most to the least that is known of it."""

    HERE = "measured here"
    ANOTHER_BENCH = "from another bench"
    BENCH_NOT_JUDGED = "from another bench, not judged again"
    OUTSIDE = "from outside, unverified"
    OUTSIDE_NOT_JUDGED = "from outside, not judged again"
    SIMULATED = "simulated"


class Arrived(Frozen):
    """How a record came from outside: from which file or store, and when. `head`: the head of that store's chain,
    noted by a person, that it was held to; empty where nothing vouches for it. `rules`: the other rules that judged it,
    where it was not judged again here.
    """

    source: OneLine
    at: datetime
    head: OneLine = ""
    rules: OneLine = ""


def is_simulated(board_kind: str) -> bool:
    """Whether a board of this kind measures no real part."""
    return board_kind != "real"


def origin_of(simulated: bool, arrived: Arrived | None) -> Origin:
    """What a record may be called."""
    if simulated:
        return Origin.SIMULATED
    if arrived is None:
        return Origin.HERE
    if arrived.rules:
        return Origin.BENCH_NOT_JUDGED if arrived.head else Origin.OUTSIDE_NOT_JUDGED
    return Origin.ANOTHER_BENCH if arrived.head else Origin.OUTSIDE


def least_known(origins: Iterable[Origin]) -> Origin:
    """What all of these together may be called."""
    order = list(Origin)
    return max(origins, key=order.index, default=Origin.HERE)


class WithOrigin(Frozen):
    """A noun that writes out what follows from its fields; a text that says that otherwise is refused."""

    @model_validator(mode="wrap")
    @classmethod
    def _follows(cls, given: Any, validate: ModelWrapValidatorHandler[Self]) -> Self:
        if not isinstance(given, dict):
            return validate(given)
        follows = cls.model_computed_fields
        made = validate({name: value for name, value in given.items() if name not in follows})
        for name in follows.keys() & given.keys():
            if given[name] != getattr(made, name):
                raise ValueError(f"'{name}' does not follow from the rest: it was changed after it was written")
        return made


class OfMany(WithOrigin):
    """A view of several records. `came`: what those that are not simulated may be called together."""

    simulated: bool
    came: Origin = Origin.HERE

    @computed_field  # type: ignore[prop-decorator]
    @property
    def origin(self) -> Origin:
        """What all of it may be called."""
        return Origin.SIMULATED if self.simulated else self.came
