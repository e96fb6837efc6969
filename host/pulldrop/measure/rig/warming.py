"""How a filament warms behind a load: from its ohms at two moments, what its current will come to.

A filament takes V^2 / R, gives off a power of its temperature, and the rest warms it. Its mass and what it gives off
are the two unknowns; its ohms at two moments say both. Temperatures are in units of the room's.
"""

from dataclasses import dataclass

SLOPE = 1 / 1.2
"""Kelvin go with ohms to this power (from the tungsten table, Forsythe and Worthing 1925, second hand)."""
GIVES_OFF = 4.6
"""Power given off goes with kelvin to this power: radiation, rising emissivity, some gas (assumed)."""
HEAT_GROWS = 0.04
"""Of its heat capacity, for each time the room's temperature (tungsten: 132 to 163 J/(kg K) at 300 to 2,000 K)."""
LEAST_KELVIN = 1.8
"""A filament that is no warmer at the end says too little of what it gives off (assumed)."""
STEPS, HALVINGS = 60, 22
RATE_MOST, LOSS_MOST = 1e6, 0.2
"""Kelvin rise at first in rooms a second; share of the first power that is given off in a room's warmth, at most."""


@dataclass(frozen=True, slots=True)
class Warming:
    """A filament of so many ohms cold behind `series_ohm` at `supply_v`; no more than `most_v` come to lie on it."""

    cold_ohm: float
    most_v: float
    supply_v: float
    series_ohm: float

    def left(self, at_s: tuple[float, float], kelvin: tuple[float, float]) -> float:
        """Its current when it is warm, over that at the second moment; 0 where the two moments do not tell."""
        if kelvin[1] < LEAST_KELVIN:
            return 0.0
        if kelvin[1] <= kelvin[0]:
            return 1.0
        low, high = 0.0, LOSS_MOST
        for _ in range(HALVINGS):
            loss = (low * high) ** 0.5 if low else high / 8
            warmer = self._course(self._rate(loss, at_s[0], kelvin[0]), loss, at_s[1]) > kelvin[1]
            low, high = (loss, high) if warmer else (low, loss)
        steady = high ** (-1 / (GIVES_OFF + 1 / SLOPE))
        return float((kelvin[1] / steady) ** (1 / SLOPE)) if steady > kelvin[1] else 1.0

    def _rate(self, loss: float, at_s: float, kelvin: float) -> float:
        """How fast it warms at first, so that it is so warm then."""
        low, high = 1e-3, RATE_MOST
        for _ in range(HALVINGS):
            rate = (low * high) ** 0.5
            low, high = (rate, high) if self._course(rate, loss, at_s) < kelvin else (low, rate)
        return high

    def _course(self, rate: float, loss: float, until_s: float) -> float:
        """How warm it is then; steps that grow, for it is fastest at first."""
        kelvin, before = 1.0, 0.0
        for step in range(1, STEPS + 1):
            at = until_s * (step / STEPS) ** 2
            for _ in range(2 if step < 8 else 1):
                half = (at - before) / (2 if step < 8 else 1)
                kelvin = self._stepped(kelvin, rate, loss, half)
            before = at
        return kelvin

    def _stepped(self, kelvin: float, rate: float, loss: float, seconds: float) -> float:
        """One step, by the slope in its middle."""
        middle = kelvin + self._slope(kelvin, rate, loss) * seconds / 2
        most = self._most(loss)
        return min(max(kelvin + self._slope(min(max(middle, 1.0), most), rate, loss) * seconds, 1.0), most)

    def _most(self, loss: float) -> float:
        return float(loss ** (-1 / (GIVES_OFF + 1 / SLOPE))) if loss else 20.0

    def _slope(self, kelvin: float, rate: float, loss: float) -> float:
        ohm = self.cold_ohm * kelvin ** (1 / SLOPE)
        volts = min(self.supply_v * ohm / (ohm + self.series_ohm), self.most_v)
        takes = (volts / self.most_v) ** 2 * self.cold_ohm / ohm
        return float(rate * (takes - loss * kelvin**GIVES_OFF) / (1 + HEAT_GROWS * (kelvin - 1)))
