"""Whoever turns a virtual switch: hears what the bench says, and does it after a while, a little differently each time.

Everything of a person is drawn from a seed and assumed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pulldrop.plant.noise import Chance
from pulldrop.plant.switch.contacts import Knob


@dataclass(frozen=True)
class Habits:
    """`reacts_s`: from a word to the hand; `step_s`: from one position to the next; `slow_s`: the same when asked to go
    slowly; `wiggles`: share of rests in which the knob is rocked, by `wiggle_steps`; `deaf`: moves on by itself after
    `dwell_s`, whatever is said; `skips`: positions that are never visited, by number; `leaves_after`: rests after which
    the person walks away; `forgets`: share of words to let go that are not done."""

    reacts_s: tuple[float, float] = (0.3, 1.2)
    step_s: tuple[float, float] = (0.06, 0.5)
    slow_s: float = 3.0
    wiggles: float = 0.3
    wiggle_steps: float = 0.06
    deaf: bool = False
    dwell_s: tuple[float, float] = (1.5, 5.0)
    skips: frozenset[int] = frozenset()
    leaves_after: int | None = None
    forgets: float = 0.05


class Person:
    """Turns `knob` of a switch with `count` positions; `springs`: from a held position to where it goes by itself."""

    def __init__(self, knob: Knob, count: int, springs: dict[int, int], seed: int, habits: Habits = Habits()) -> None:
        self._knob, self._count, self._springs, self._habits = knob, count, springs, habits
        self._chance = Chance(seed ^ 0x9E4507)
        self.at = round(knob.angle)
        self._way: list[int] = []
        self._rests = 0
        self._busy_s = 0.0

    def hears(self, word: str, now_s: float) -> None:
        """A word of the bench at a moment: `next`, `let go` or `slowly`; others change nothing."""
        habits = self._habits
        self._rests += word in ("next", "let go")
        if now_s < self._busy_s - 1e-9 or (habits.leaves_after is not None and self._rests > habits.leaves_after):
            return
        begins_s = now_s + self._between(habits.reacts_s)
        if word == "let go":
            if self.at in self._springs and self._chance.uniform() >= habits.forgets:
                self._release(begins_s)
        elif word == "next":
            self._go(begins_s, self._next())
        elif word == "slowly":
            self._sweep(begins_s)

    def begin(self, until_s: float) -> None:
        """Of a person who does not listen: everything that is done until then."""
        at_s = self._between(self._habits.dwell_s)
        while at_s < until_s:
            at_s = self._go(at_s, self._next()) + self._between(self._habits.dwell_s)

    def _next(self) -> int:
        while not self._way or self._way[0] == self.at:
            if self._way:
                self._way.pop(0)
                continue
            self._way = self._round()
        return self._way.pop(0)

    def _round(self) -> list[int]:
        """All positions once: along the knob, or in any order."""
        places = [one for one in range(self._count) if one not in self._habits.skips]
        if self._chance.uniform() < 0.5:
            return places if self._chance.uniform() < 0.5 else places[::-1]
        return sorted(places, key=lambda _: self._chance.uniform())

    def _go(self, begins_s: float, to: int) -> float:
        """To a position and rest there; a held one that is left springs back on the way. When the hand is done."""
        chance, habits = self._chance, self._habits
        if self.at in self._springs and to != self.at:
            begins_s = self._release(begins_s) + 0.1
        if to == self.at:
            return begins_s
        lasts_s = abs(to - self.at) * self._between(habits.step_s)
        done_s = self._knob.stroke(begins_s, float(to), lasts_s)
        self.at = to
        if chance.uniform() < habits.wiggles:
            wait_s, rock_s = self._between((0.2, 0.6)), self._between((0.5, 1.5))
            self._knob.wiggle(done_s + wait_s, rock_s, habits.wiggle_steps, self._between((2.0, 5.0)))
        self._busy_s = done_s
        return done_s

    def _release(self, begins_s: float) -> float:
        """Let a held position go; when the spring has brought it back."""
        to = self._springs[self.at]
        done_s = self._knob.stroke(begins_s, float(to), 0.03 * abs(to - self.at))
        self.at, self._busy_s = to, done_s
        return done_s

    def _sweep(self, begins_s: float) -> None:
        """Slowly from one end to the other and back."""
        at_s = begins_s
        for to in [0, *range(1, self._count), *range(self._count - 2, -1, -1)]:
            if to in self._habits.skips or to == self.at:
                continue
            if self.at in self._springs:
                at_s = self._release(at_s + 0.5) + 0.5
                if to == self.at:
                    continue
            steps = abs(to - self.at)
            at_s = self._knob.stroke(at_s, float(to), self._habits.slow_s * steps) + self._between((1.0, 1.6))
            self.at = to
        self._busy_s = at_s

    def _between(self, given: Sequence[float]) -> float:
        return given[0] + (given[1] - given[0]) * self._chance.uniform()
