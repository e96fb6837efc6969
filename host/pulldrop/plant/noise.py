"""Chance that can be repeated and rolled back: a short state, the same numbers from the same seed on any machine."""

import math

MASK = (1 << 64) - 1


class Chance:
    """SplitMix64 (Steele, Lea, Flood 2014): one 64-bit word of state, so that a snapshot costs nothing."""

    __slots__ = ("state",)

    def __init__(self, seed: int) -> None:
        self.state = seed & MASK

    def uniform(self) -> float:
        """In (0, 1)."""
        self.state = (self.state + 0x9E3779B97F4A7C15) & MASK
        word = self.state
        word = ((word ^ (word >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        word = ((word ^ (word >> 27)) * 0x94D049BB133111EB) & MASK
        return ((word ^ (word >> 31)) + 0.5) / (MASK + 1.0)

    def within(self, most: float) -> float:
        """Between -most and +most, every value alike: how a part inside its maker's limits is drawn."""
        return most * (2 * self.uniform() - 1)

    def normal(self) -> float:
        """Normal deviate of standard deviation 1 (Box and Muller)."""
        return math.sqrt(-2 * math.log(self.uniform())) * math.cos(2 * math.pi * self.uniform())
