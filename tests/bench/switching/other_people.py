"""People of another kind than those of whom the learner was tuned: they overshoot, hesitate, go back and forth.

Rule: written after the learner was; no rule of it was changed for them without a word in FIGURES.md.
"""

import math
from collections.abc import Sequence

from pulldrop.plant.switch.person import Person


class OtherPerson(Person):
    """Answers by a lognormal time, and turns in other ways than in one stroke."""

    def _between(self, given: Sequence[float]) -> float:
        """A time about the geometric middle of a range, with long tails."""
        return math.sqrt(given[0] * given[1]) * math.exp(0.5 * self._chance.normal())

    def _go(self, begins_s: float, to: int) -> float:
        """Sometimes one position too far and back, or with a stop between two detents, or there and back and there."""
        draw, start = self._chance.uniform(), self.at
        if to == start or start in self._springs or to in self._springs:
            return super()._go(begins_s, to)
        step_s = min(self._between(self._habits.step_s), 0.6)
        beyond = to + (1 if to > start else -1)
        if draw < 0.25 and 0 <= beyond < self._count and beyond not in self._springs:
            begins_s = self._knob.stroke(begins_s, float(beyond), step_s * abs(beyond - start)) + 0.1 + 0.3 * step_s
            self.at = beyond
        elif draw < 0.45:
            middle = (start + to) / 2
            halfway = middle if middle != int(middle) else middle - 0.5
            begins_s = self._knob.stroke(begins_s, halfway, step_s * abs(halfway - start)) + 0.5 * step_s
        elif draw < 0.55:
            begins_s = self._knob.stroke(begins_s, float(to), step_s * abs(to - start)) + 0.2
            begins_s = self._knob.stroke(begins_s, float(start), step_s * abs(to - start)) + 0.2
        return super()._go(begins_s, to)
