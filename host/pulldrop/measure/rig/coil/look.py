"""The coil at a few mA with nothing else fed, where that is all that a build looks at: ohms, a short, a diode that is
the wrong way round.

Rule: bus and shunt of the INA226 are read as at full volts, so that what they have in common with those cancels.
"""

from dataclasses import dataclass
from typing import Any

from pulldrop.board.request_types import Scan
from pulldrop.measure.rig.counts.budget import nominal_value, reading_noise
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.raw import Line, ScanCounts

LOOKS = 2
SHORT_V = 0.4
JUNCTION_V = (0.58, 0.78)
"""A silicon diode that is the wrong way round holds 0.6 to 0.75 V at 15 mA (1N4007 data sheets); the lowest coil of its
class, 60 ohm, shows 0.82 V at least, and 25 ohm 0.4 V. What lies between a short and a diode is a coil of few ohms."""
OPEN_A = 0.3e-3
"""Below it the coil takes nothing: what the INA226's zero may be off, three times."""


@dataclass(frozen=True, slots=True)
class CoilLook:
    """Volts across the coil and amps through it, each with budget; the counts they came from."""

    volts: Any
    amps: Any
    counts: tuple[ScanCounts, ...]

    @property
    def v(self) -> float:
        """Volts, a plain number."""
        return nominal_value(self.volts)

    @property
    def a(self) -> float:
        """Amps, a plain number."""
        return nominal_value(self.amps)

    @property
    def clamp(self) -> str:
        """What conducts beside the coil, or instead of it; empty where nothing seems to."""
        low, high = JUNCTION_V
        if self.a <= OPEN_A or self.v >= high or SHORT_V <= self.v < low:
            return ""
        if self.v < SHORT_V:
            return "shorted"
        return "its suppression diode is the wrong way round, or it has half the ohms of its class"


def look(rig: Rig) -> CoilLook:
    """Everything is off afterwards."""
    counts = tuple(rig.board.scan(Scan(Line.T86, Line.T85)) for _ in range(LOOKS))
    bus, shunt = (sum(getattr(one, name) for one in counts) / LOOKS for name in ("source", "driven"))
    amps = rig.coil_amps(shunt, bus)
    volts = rig.scales.bus(reading_noise(bus, "coil volts")) - amps * rig.scales.low_side_ohm
    return CoilLook(volts, amps, counts)
