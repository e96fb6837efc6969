"""What the coil is connected to: supply, switch, bench clamps and the part's own suppression, as one network.

Every element is piecewise linear, so that the whole is one rising line with corners: the current out of the
coil's low end as a function of `w`, the volts of that end above the coil's plus terminal. A segment of the line
is a source and a resistance, which is all that the coil's equations need.
"""

from dataclasses import dataclass
from math import exp, inf
from typing import Literal

from pydantic import Field

from pulldrop.plant.shape import Shape

SWITCH_OHM = 0.87
"""MOSFET, shunt and wiring on the coil's low side; 0.82 ohm of it is the shunt."""
LIMIT_A = 0.3
"""Hardware current limit of the coil supply."""
LIMIT_OHM = 20e3
"""Output resistance of the supply while it limits (assumed)."""
LEAK_OHM = 104.7e3
"""The divider of the low-side channel, from the coil's low end to ground."""
TVS_V, TVS_OHM = 68.0, 2.0
"""The bench clamp across the low-side switch; its slope is assumed."""
DIODE_V, DIODE_OHM = 0.70, 0.6
"""A silicon rectifier as a straight line: about 0.75 V at 0.1 A (1N4007 data sheets, typical curve)."""
ZENER_OHM = 5.0
SETTLE_S, SETTLED_V = 60e-6, 1e-4
"""Time constant of the coil supply (settles in about 0.3 ms), and what is taken as settled."""


class Suppression(Shape):
    """The suppressor inside the part, across its coil."""

    kind: Literal["none", "resistor", "diode", "diode_zener"] = Field(
        default="none", description="what is connected across the coil"
    )
    resistor_ohm: float = Field(default=680.0, gt=0, le=1e6, description="of kind resistor")
    zener_v: float = Field(default=24.0, gt=0, le=200, description="of kind diode_zener")
    reversed: bool = Field(default=False, description="the diode is the wrong way round for the coil's polarity")


@dataclass(frozen=True, slots=True)
class Network:
    """`current(w) = slope w + offset + sum of change * max(0, w - corner)` over `corners`, in rising order."""

    slope: float
    offset: float
    corners: tuple[tuple[float, float], ...]

    def segment(self, i: float) -> tuple[float, float, float, float]:
        """Source volts and ohms that the coil sees at the current `i`, and the currents between which they hold."""
        slope, offset, low = self.slope, self.offset, -inf
        for corner, change in self.corners:
            high = slope * corner + offset
            if i <= high:
                return offset / slope, 1 / slope, low, high
            low = high
            slope += change
            offset -= change * corner
        return offset / slope, 1 / slope, low, inf


def network(part: Suppression, supply_v: float, switch: bool, diode: bool) -> Network:
    """The network for one state of the bench: supply volts, low-side switch closed or not, 1N4007 in or not."""
    slope, offset = 1 / LEAK_OHM, supply_v / LEAK_OHM
    corners = [(TVS_V - supply_v, 1 / TVS_OHM)]
    if switch:
        slope += 1 / SWITCH_OHM
        offset += supply_v / SWITCH_OHM
        corners.append((LIMIT_A * SWITCH_OHM - supply_v, 1 / LIMIT_OHM - 1 / SWITCH_OHM))
    if diode:
        corners.append((DIODE_V, 1 / DIODE_OHM))
    if part.kind == "resistor":
        slope += 1 / part.resistor_ohm
    elif part.kind != "none":
        zener_v, ohm = (part.zener_v, ZENER_OHM) if part.kind == "diode_zener" else (0.0, 0.0)
        volts, conductance = DIODE_V + zener_v, 1 / (DIODE_OHM + ohm)
        if part.reversed:
            slope += conductance
            offset += conductance * volts
            corners.append((-volts, -conductance))
        else:
            corners.append((volts, conductance))
    return Network(slope, offset, tuple(sorted(corners)))


@dataclass(frozen=True, slots=True)
class Feed:
    """How the coil is fed since one moment: supply volts on their way to a target, switch, bench diode."""

    from_v: float = 0.0
    to_v: float = 0.0
    since_s: float = 0.0
    switch: bool = False
    diode: bool = False

    def volts(self, at_s: float) -> float:
        """What the supply holds at a moment, its current limit not counted."""
        left = (self.from_v - self.to_v) * exp((self.since_s - at_s) / SETTLE_S)
        return self.to_v + left if abs(left) > SETTLED_V else self.to_v


@dataclass(frozen=True, slots=True)
class CoilCircuit:
    """Volts and amps around the coil at one moment, as the bench could measure them."""

    plus_v: float
    low_side_v: float
    supply_a: float
    shunt_a: float


def circuit(coil_v: float, supply_v: float, switch: bool) -> CoilCircuit:
    """From the volts across the coil: what the supply gives, and what flows in the low-side shunt.

    The clamp sits across the MOSFET, so that its current flows in the shunt as well.
    """
    excess = supply_v - coil_v
    clamped = max(0.0, (excess - TVS_V) / TVS_OHM)
    if not switch:
        return CoilCircuit(supply_v, excess, clamped + excess / LEAK_OHM, clamped)
    amps = min(excess / SWITCH_OHM, LIMIT_A + (excess - LIMIT_A * SWITCH_OHM) / LIMIT_OHM)
    return CoilCircuit(coil_v + amps * SWITCH_OHM, amps * SWITCH_OHM, amps, amps)
