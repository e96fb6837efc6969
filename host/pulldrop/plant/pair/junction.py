"""A silicon diode or LED by Shockley's law, and the straight line that stands for it in a network at one current."""

import math
from dataclasses import dataclass

from pulldrop.plant.network import Diode

THERMAL_V = 0.02569
"""kT/q at 25 degC."""


@dataclass(frozen=True)
class Junction:
    """`saturation_a`, `ideality`: of the law; `series_ohm`: of the die, and of a resistor in one body with it."""

    saturation_a: float
    ideality: float
    series_ohm: float = 0.0

    def volts(self, amps: float) -> float:
        """Across it, forward."""
        return self.ideality * THERMAL_V * math.log1p(amps / self.saturation_a) + amps * self.series_ohm

    def line(self, anode: str, cathode: str, amps: float) -> Diode:
        """Its tangent at a current, for the network."""
        slope = self.ideality * THERMAL_V / (amps + self.saturation_a) + self.series_ohm
        return Diode(anode, cathode, self.volts(amps) - amps * slope, slope)


SILICON = Junction(saturation_a=7.7e-9, ideality=1.9, series_ohm=0.03)
"""A 1 A rectifier (assumed: 0.62 V at 2 mA, about 0.93 V at 1 A)."""
RED = Junction(saturation_a=1e-18, ideality=2.0, series_ohm=8.0)
"""An indicator LED, 1.9 V at 10 mA (assumed)."""
WHITE = Junction(saturation_a=1e-27, ideality=2.0, series_ohm=12.0)
"""A white or blue one, about 3 V (assumed)."""
