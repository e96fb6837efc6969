"""One thing known of a part, and the states in which armature and iron are found."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from pulldrop.model.reading import State


class Motion(StrEnum):
    """Whether the armature moves, by the coil's current."""

    MOVES = "the dip is there"
    RESTS = "no dip"


class Reversal(StrEnum):
    """What reversed pulses did to a part, in words."""

    RISEN = "they raised its drop-out"
    SAME = "they left its drop-out as it was"
    LET_GO = "they made it let go"
    HELD = "they did not make it let go"


Sign = State | Motion | Reversal


@dataclass(frozen=True, slots=True)
class Clue:
    """One thing known of the part. `value` in the clue's own unit, `u` its standard uncertainty in the same.

    `bound`: as in a reading; `missing`: asked for, and the part did not allow it; `state`: of contacts, coil, armature;
    `least`: a smaller value cannot be told from this one.
    """

    key: str
    id: str
    shown: str
    value: float | None = None
    u: float = 0.0
    bound: Literal["=", ">", "<"] = "="
    state: Sign | None = None
    missing: bool = False
    least: float = 1e-9


def log_of(clue: Clue) -> tuple[float, float]:
    """Natural logarithm of the value and its standard uncertainty; what is near zero is taken at the clue's least."""
    assert clue.value is not None
    value = max(clue.value, clue.least)
    return math.log(value), clue.u / value
