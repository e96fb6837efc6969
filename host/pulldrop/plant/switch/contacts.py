"""Contacts of a switch by the angle of its knob, counted in positions: 0 is the first detent, 1 the second.

Rule: a moving contact lies on its fixed ones over a range of angles; wear, dead spots and detents only move ranges.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pulldrop.model.part.pair import Pair
from pulldrop.plant.noise import Chance

Range = tuple[float, float]
CHATTER_S = 0.2e-3
"""How long a bouncing contact stays open or closed (assumed; lengths of a few tenths of a ms in Ganssle's plots)."""


def ranges(positions: Sequence[frozenset[Pair]], overlap: float) -> dict[Pair, tuple[Range, ...]]:
    """Angles over which each pair lies closed. A contact reaches half a step and `overlap` beyond its position; one
    that is closed in neighbouring positions runs through."""
    found: dict[Pair, tuple[Range, ...]] = {}
    for pair in sorted({one for closed in positions for one in closed}):
        runs: list[Range] = []
        for at, closed in enumerate(positions):
            if pair not in closed:
                continue
            if runs and runs[-1][1] > at - 1:
                runs[-1] = (runs[-1][0], at + 0.5 + overlap)
            else:
                runs.append((at - 0.5 - overlap, at + 0.5 + overlap))
        found[pair] = tuple(runs)
    return found


def without(given: tuple[Range, ...], low: float, high: float) -> tuple[Range, ...]:
    """Ranges with a dead spot taken out."""
    parts = [part for a, b in given for part in ((a, min(b, low)), (max(a, high), b)) if part[0] < part[1]]
    return tuple(parts)


@dataclass
class Knob:
    """Where the knob is, by time: strokes and wiggles of the hand, in the order of their begin. At first at `angle`."""

    angle: float
    strokes: list[tuple[float, float, float, float]] = field(default_factory=list)
    wiggles: list[tuple[float, float, float, float]] = field(default_factory=list)

    def stroke(self, begins_s: float, to: float, lasts_s: float) -> float:
        """Turn it to an angle; when that is done, in seconds."""
        if self.strokes and begins_s < self.strokes[-1][0] + self.strokes[-1][1]:
            raise ValueError("one hand does one thing after the other")
        self.strokes.append((begins_s, lasts_s, self.end, to))
        return begins_s + lasts_s

    def wiggle(self, begins_s: float, lasts_s: float, steps: float, hertz: float) -> None:
        """Rock it about where it is, by so many steps either way; its detent brings it back."""
        self.wiggles.append((begins_s, begins_s + lasts_s, steps, hertz))

    @property
    def end(self) -> float:
        """Where the strokes so far leave it."""
        return self.strokes[-1][3] if self.strokes else self.angle

    def at(self, time_s: float) -> float:
        """Its angle: a stroke begins and ends gently."""
        where = self.angle
        for begins_s, lasts_s, start, to in reversed(self.strokes):
            if begins_s <= time_s:
                done = min((time_s - begins_s) / lasts_s, 1.0) if lasts_s else 1.0
                where = start + (to - start) * done * done * (3 - 2 * done)
                break
        for begins_s, ends_s, steps, hertz in self.wiggles:
            if begins_s <= time_s < ends_s:
                where += steps * math.sin(2 * math.pi * hertz * (time_s - begins_s))
        return where


@dataclass(frozen=True)
class Contacts:
    """`closed`: ranges of angles by pair; `ohm`: of a closed pair by make, scattered by `scatter` (a standard deviation
    of the logarithm); `films`: ohms in series by pair."""

    knob: Knob
    closed: Mapping[Pair, tuple[Range, ...]]
    ohm: float
    scatter: float
    films: Mapping[Pair, float]
    bounce_s: float
    seed: int

    def touching(self, time_s: float) -> dict[Pair, float]:
        """Ohms of every pair that touches at a moment."""
        now = self.knob.at(time_s)
        earlier = [self.knob.at(time_s - self.bounce_s * share) for share in (1.0, 0.6, 0.3)]
        found = {}
        for index, (pair, angles) in enumerate(self.closed.items()):
            if not _within(angles, now):
                continue
            landed = not all(_within(angles, before) for before in earlier)
            if landed and self._chance(index, int(time_s / CHATTER_S)).uniform() < 0.5:
                continue
            draw = self._chance(index, len(self.knob.strokes)).normal()
            found[pair] = self.ohm * math.exp(self.scatter * draw) + self.films.get(pair, 0.0)
        return found

    def _chance(self, pair: int, number: int) -> Chance:
        return Chance(self.seed * 1_000_003 + pair * 7919 + number)


def _within(angles: tuple[Range, ...], angle: float) -> bool:
    return any(low <= angle <= high for low, high in angles)
