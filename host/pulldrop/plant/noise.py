"""Chance that can be repeated and rolled back: a short state, the same numbers from the same seed on any machine."""

from math import cos, log, pi, sqrt

MASK = (1 << 64) - 1
RANGE = 2.0**64
GOLDEN, FIRST, SECOND = 0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB


class Chance:
    """SplitMix64 (Steele, Lea, Flood 2014): one 64-bit word of state, so that a snapshot costs nothing."""

    __slots__ = ("state",)

    def __init__(self, seed: int) -> None:
        self.state = seed & MASK

    def uniform(self) -> float:
        """A number in (0, 1)."""
        self.state = word = (self.state + GOLDEN) & MASK
        word = ((word ^ (word >> 30)) * FIRST) & MASK
        word = ((word ^ (word >> 27)) * SECOND) & MASK
        return ((word ^ (word >> 31)) + 0.5) / RANGE

    def within(self, most: float) -> float:
        """Between -most and +most, every value alike: how a part inside its maker's limits is drawn."""
        return most * (2 * self.uniform() - 1)

    def normal(self) -> float:
        """Normal deviate of standard deviation 1 (Box and Muller), from the next two uniform numbers."""
        first = (self.state + GOLDEN) & MASK
        self.state = second = (first + GOLDEN) & MASK
        first = ((first ^ (first >> 30)) * FIRST) & MASK
        first = ((first ^ (first >> 27)) * SECOND) & MASK
        second = ((second ^ (second >> 30)) * FIRST) & MASK
        second = ((second ^ (second >> 27)) * SECOND) & MASK
        far, way = ((first ^ (first >> 31)) + 0.5) / RANGE, ((second ^ (second >> 31)) + 0.5) / RANGE
        return sqrt(-2 * log(far)) * cos(2 * pi * way)
