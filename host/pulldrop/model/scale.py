"""The scale of contact drop: the one place that says at which volts a used contact is good, worn or bad."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from pulldrop.model.limit import Source


class Grade(StrEnum):
    """Of one contact. GOOD_OR_WORN and UNSURE: the reading is too near an edge of the scale to tell."""

    GOOD = "good"
    GOOD_OR_WORN = "good or worn"
    WORN = "worn"
    UNSURE = "unsure"
    BAD = "bad"


class Mark(StrEnum):
    """What a part that passed must carry. LIGHT_DUTY: a contact of it is not surely good."""

    LIGHT_DUTY = "light duty"


@dataclass(frozen=True, slots=True)
class DropScale:
    """Up to `good` a contact is good, above it up to `worn` it is worn, above that it is bad. In V, at `load` A.

    The load is part of the scale. A reading is asked for at it and brought to it from what flowed, 20 % off at most and
    with a term for that; none asked for at another load is held against it. A contact is no constant resistance: a film
    breaks with the volts, and a spot warms and softens with the amps (silver at about 90 mV, from memory).
    """

    good: float
    worn: float
    load: float
    source: Source

    def edge(self, grade: str) -> float:
        """The highest drop of "good" or of "worn", in V."""
        return {Grade.GOOD: self.good, Grade.WORN: self.worn}[Grade(grade)]


CONTACT_DROP = DropScale(
    good=0.1,
    worn=0.2,
    load=10.0,
    source=Source(
        text="a used contact is good up to 100 mV at 10 A, worn up to 200 mV, and rejected above",
        known="common practice",
    ),
)

LIGHT_LOADS = "resistive and electronic loads of a few amps; never filament lamps, motors or coils"
"""What light duty means, in the words of every screen, bin and page."""
LIGHT_DUTY = f"Mark it light duty: {LIGHT_LOADS}."
"""What a worn contact may still do."""


def mark_of(passed: bool, grades: Iterable[Grade | None]) -> Mark | None:
    """LIGHT_DUTY for a part that passed with a contact that is not surely good."""
    return Mark.LIGHT_DUTY if passed and any(grade not in (None, Grade.GOOD) for grade in grades) else None
