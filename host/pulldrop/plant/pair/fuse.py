"""A blade fuse: cold ohms by class and rating, how its element warms, and when it melts.

One lump of metal: its heat comes from the melting I2t, its cooling from how much its ohms grow at rated current.
"""

import math
from dataclasses import dataclass
from typing import Literal

Size = Literal["mini", "regular", "maxi"]
COLD_MOHM: dict[Size, dict[float, float]] = {
    "mini": {7.5: 10.85, 10: 7.42, 15: 4.58},
    "regular": {3: 31.1, 5: 17.85, 7.5: 10.91, 10: 7.70, 15: 4.80, 20: 3.38, 25: 2.52, 30: 1.97, 40: 1.44},
    "maxi": {30: 1.9, 35: 1.7, 40: 1.4, 50: 1.1},
}
"""Typical, by rated amps (makers' sheets, second hand)."""
MELTING_A2S: dict[Size, dict[float, float]] = {
    "mini": {15: 308, 25: 625},
    "regular": {5: 26, 25: 1000, 40: 3300},
    "maxi": {30: 4100, 35: 6000, 40: 8500},
}
"""The same of the I2t that melts it."""
PER_K = 0.0038
"""Zinc and its alloys gain 0.37 to 0.42 % a kelvin (from memory)."""
MELTS_C = 419.5
"""Zinc (from memory)."""
AIR_C = 23.0


def cold_mohm(size: Size, rated_a: float) -> float:
    """Typical, between the published ones along a straight line of the logarithms."""
    return _along(COLD_MOHM[size], rated_a)


def melting_a2s(size: Size, rated_a: float) -> float:
    """The same of the melting I2t."""
    return _along(MELTING_A2S[size], rated_a)


def _along(table: dict[float, float], amps: float) -> float:
    keys = sorted(table)
    at = min(max(sum(one <= amps for one in keys), 1), len(keys) - 1)
    low, high = keys[at - 1], keys[at]
    power: float = math.log(table[high] / table[low]) / math.log(high / low)
    return float(table[low] * (amps / low) ** power)


@dataclass(frozen=True)
class Fuse:
    """`hot`: its ohms at rated current over its cold ones, 1.3 to 1.7 (makers' sheets)."""

    size: Size
    rated_a: float
    hot: float = 1.55

    @property
    def cold_ohm(self) -> float:
        """In a room."""
        return cold_mohm(self.size, self.rated_a) * 1e-3

    def ohm(self, celsius: float) -> float:
        """At a temperature of its element."""
        return self.cold_ohm * (1 + PER_K * (celsius - AIR_C))

    @property
    def k_per_w(self) -> float:
        """Of its element to the air, so that rated current makes `hot` of it."""
        rise = (self.hot - 1) / PER_K
        return rise / (self.rated_a**2 * self.cold_ohm * self.hot)

    @property
    def joules_per_k(self) -> float:
        """Heat that its element takes, so that its I2t melts it before anything flows off."""
        grown = 1 + PER_K * (MELTS_C - AIR_C)
        return melting_a2s(self.size, self.rated_a) * self.cold_ohm * PER_K / math.log(grown)

    def warmed(self, celsius: float, amps: float, seconds: float) -> float:
        """Its element after a time at one current, from `celsius` on; it is melted above MELTS_C.

        Ohms grow along a straight line, so the temperature moves by an exponential, exactly.
        """
        loss = 1 / self.k_per_w - amps**2 * self.cold_ohm * PER_K
        gain = amps**2 * self.cold_ohm
        rate = loss / self.joules_per_k
        rise = celsius - AIR_C
        if abs(rate * seconds) < 1e-9:
            return AIR_C + rise + gain / self.joules_per_k * seconds
        if -rate * seconds > 50:
            return math.inf
        end = gain / loss
        return AIR_C + end + (rise - end) * math.exp(-rate * seconds)

    def melts_after_s(self, amps: float) -> float:
        """From cold, at a steady current; infinite when it never does."""
        low, high = 1e-4, 1e6
        if self.warmed(AIR_C, amps, high) < MELTS_C:
            return math.inf
        for _ in range(80):
            middle = math.sqrt(low * high)
            low, high = (low, middle) if self.warmed(AIR_C, amps, middle) > MELTS_C else (middle, high)
        return high
