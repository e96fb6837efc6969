"""Looks that follow each other: has what lies in the socket been left alone for a second and a half; is it empty.

Rule: time is the bench's own, and only what was seen counts; a look that differs in anything begins again.
"""

from math import floor

from pulldrop.measure.identify.socket import Look
from pulldrop.model.crate.crate import BEATS

STILL_S = 1.5
"""From the first of these looks until something may be energised: a hand is still on the part before that."""
BEAT_S = STILL_S / BEATS
LOOK_S = 0.2
"""Time between two looks while the bench waits for a hand."""
EMPTY_LOOKS = 2
"""So many looks that see nothing, one after the other, are believed."""


class Still:
    """Looks that follow each other. `moved`: one of them was unlike those before it."""

    def __init__(self) -> None:
        self.seen = Look.nothing()
        self.moved = False
        self._since_s: float | None = None
        self._stood_s = 0.0

    def see(self, seen: Look, at_s: float) -> None:
        """One look more, which ended at this moment of bench time."""
        if self._since_s is None or not seen.unmoved(self.seen):
            self.moved = self._since_s is not None
            self.seen, self._since_s = seen, at_s
        self._stood_s = at_s - self._since_s

    @property
    def enough(self) -> bool:
        """Whether it has sat still for long enough."""
        return self._since_s is not None and self._stood_s >= STILL_S

    @property
    def beats(self) -> int:
        """Beats of the countdown that are left."""
        return max(0, BEATS - floor(self._stood_s / BEAT_S))

    @property
    def due_s(self) -> float:
        """Moment of bench time from which there is one beat less."""
        return (self._since_s or 0.0) + BEAT_S * (floor(self._stood_s / BEAT_S) + 1)


class Emptied:
    """Looks that follow each other, until they are believed to see nothing."""

    def __init__(self) -> None:
        self._count = 0

    def see(self, seen: Look) -> bool:
        """One look more; True once enough of them saw nothing."""
        self._count = self._count + 1 if seen.empty else 0
        return self._count >= EMPTY_LOOKS
