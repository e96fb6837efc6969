"""A tungsten filament: ohms by its temperature, what it radiates, and how it warms from the moment it is switched on.

Wire and length follow from rated volts and amps, so that the inrush's decay is a result and no setting.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property

RESISTIVITY_UOHM_CM = {
    300: 5.65, 400: 8.06, 500: 10.56, 600: 13.23, 800: 19.00, 1000: 24.93, 1200: 30.98, 1500: 40.36, 1800: 50.05,
    2000: 56.67, 2200: 63.48, 2400: 70.39, 2500: 73.91, 2600: 77.49, 2700: 81.04, 2800: 84.70, 2900: 88.33,
    3000: 92.04, 3200: 99.54, 3600: 115.0,
}  # fmt: skip
"""By kelvin (Forsythe and Worthing 1925, second hand)."""
EMISSIVITY = {300: 0.024, 500: 0.042, 1000: 0.114, 1500: 0.192, 2000: 0.260, 2500: 0.303, 3000: 0.334, 3600: 0.354}
"""Total, of a plain surface, by kelvin (from memory)."""
STEFAN = 5.670e-8
DENSITY = 19.3e3
HEAT = {300: 132.0, 1000: 146.0, 2000: 163.0, 3000: 190.0}
"""J/(kg K) by kelvin (from memory)."""
COILED = 0.7
"""Share of a coil's surface that sees the glass (assumed)."""
AIR_K = 296.0
HOTTEST_K, CURVE = 3650.0, 100
"""Where the tables of steady states end, and in how many steps."""
STEP_K = 15.0
"""Most that the temperature changes in one step of the integration."""


def between(table: dict[int, float], kelvin: float) -> float:
    """A straight line between the two nearest entries; beyond the ends that of the last two."""
    keys = list(table)
    at = min(max(bisect_right(keys, kelvin), 1), len(keys) - 1)
    low, high = keys[at - 1], keys[at]
    return table[low] + (table[high] - table[low]) * (kelvin - low) / (high - low)


@dataclass(frozen=True)
class Filament:
    """`volts`, `amps`: rated. `hot_k`: its temperature then. `gas`: share of its power that gas and leads take then;
    gas takes in proportion to the rise to 1.6 (assumed), and a vacuum lamp's leads about 3 %."""

    volts: float
    amps: float
    hot_k: float = 2800.0
    gas: float = 0.15

    @property
    def hot_ohm(self) -> float:
        """At rated volts."""
        return self.volts / self.amps

    def ohm(self, kelvin: float) -> float:
        """At a temperature."""
        return self.hot_ohm * between(RESISTIVITY_UOHM_CM, kelvin) / between(RESISTIVITY_UOHM_CM, self.hot_k)

    @property
    def cold_ohm(self) -> float:
        """In a room."""
        return self.ohm(AIR_K)

    def watts(self, kelvin: float) -> float:
        """What it gives off at a temperature."""
        rated = self.volts * self.amps
        light = _radiance(kelvin) - _radiance(AIR_K)
        rise = max(kelvin - AIR_K, 0.0) / (self.hot_k - AIR_K)
        return float(
            rated * ((1 - self.gas) * light / (_radiance(self.hot_k) - _radiance(AIR_K)) + self.gas * rise**1.6)
        )

    def kelvin_at(self, volts: float) -> float:
        """Steady, at some volts."""
        low, high = AIR_K, HOTTEST_K
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if volts**2 / self.ohm(middle) > self.watts(middle) else (low, middle)
        return low

    @cached_property
    def steady(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Volts and siemens at which it rests, both as shares of the rated ones, from cold to beyond its melting point:
        what `amps_at` finds by search, for a solver that asks often."""
        kelvins = [AIR_K + (HOTTEST_K - AIR_K) * (i / CURVE) ** 2 for i in range(CURVE + 1)]
        watts = [max(self.watts(one), 0.0) / (self.volts * self.amps) for one in kelvins]
        ohms = [self.ohm(one) / self.hot_ohm for one in kelvins]
        return tuple(math.sqrt(w * r) for w, r in zip(watts, ohms, strict=True)), tuple(1 / one for one in ohms)

    def law(self, volts: float) -> tuple[float, float]:
        """Steady amps at some volts, and how they change with the volts, in siemens."""
        at, siemens = self.steady
        share = min(abs(volts) / self.volts, at[-1])
        place = min(max(bisect_right(at, share), 1), CURVE)
        slope = (siemens[place] - siemens[place - 1]) / (at[place] - at[place - 1])
        now = siemens[place - 1] + slope * (share - at[place - 1])
        bent = slope * share if abs(volts) < at[-1] * self.volts else 0.0
        return volts * now / self.hot_ohm, (now + bent) / self.hot_ohm

    def amps_at(self, volts: float) -> float:
        """Steady, at some volts."""
        return volts / self.ohm(self.kelvin_at(volts))

    @cached_property
    def kilograms(self) -> float:
        """Of wire: the length and thickness that have these ohms and give off this power."""
        radiated = self.volts * self.amps * (1 - self.gas)
        length_by_width = radiated / ((_radiance(self.hot_k) - _radiance(AIR_K)) * STEFAN) / (math.pi * COILED)
        per_square = self.hot_ohm * math.pi / 4 / (between(RESISTIVITY_UOHM_CM, self.hot_k) * 1e-8)  # length / width^2
        width: float = (length_by_width / per_square) ** (1 / 3)
        return float(DENSITY * math.pi / 4 * width * length_by_width)

    def warmed(self, kelvin: float, volts: float, series_ohm: float, seconds: float, most_v: float = math.inf) -> float:
        """Its temperature after a time at `volts` behind `series_ohm`, at most `most_v` across it, from `kelvin` on."""
        left = seconds
        while left > 0:
            ohm = self.ohm(kelvin)
            across_v = min(volts * ohm / (ohm + series_ohm), most_v)
            gains = across_v**2 / ohm - self.watts(kelvin)
            rate = gains / (self.kilograms * between(HEAT, kelvin))
            if abs(rate) * left < 1e-3:
                break
            step = min(left, STEP_K / abs(rate), 1e-3)
            kelvin, left = kelvin + rate * step, left - step
        return kelvin

    def inrush(self, volts: float, series_ohm: float, seconds: float) -> float:
        """Amps so long after a cold filament was switched on."""
        return volts / (self.ohm(self.warmed(AIR_K, volts, series_ohm, seconds)) + series_ohm)


def _radiance(kelvin: float) -> float:
    return between(EMISSIVITY, kelvin) * kelvin**4
