"""What the coil is connected to: supply, switch, bench clamps, leads and the part's own suppression, as one network.

Every element is piecewise linear, so that the whole is one rising line with corners: the current out of the
coil's low end as a function of `w`, the volts of that end above the coil's plus terminal. A segment of the line
is a source and a resistance, which is all that the coil's equations need. The bench stands behind the leads to the
socket, the part's own suppression before them.
"""

from dataclasses import dataclass
from math import exp, inf
from typing import Literal, NamedTuple

from pydantic import Field

from pulldrop.plant.shape import Shape

SWITCH_OHM = 0.87
"""MOSFET, shunt and wiring on the coil's low side; 0.82 ohm of it is the shunt. Nominal."""
LIMIT_A = 0.3
"""Hardware current limit of the coil supply."""
LIMIT_OHM = 20e3
"""Output resistance of the supply while it limits (assumed)."""
LEAK_OHM = 104.7e3
"""The divider of the low-side channel, from the coil's low end to ground."""
TVS_V, TVS_OHM = 68.0, 2.0
"""The bench clamp across the low-side switch, nominal; its slope is assumed."""
DIODE_V, DIODE_OHM = 0.70, 0.6
"""A silicon rectifier as a straight line: about 0.75 V at 0.1 A (1N4007 data sheets, typical curve)."""
ZENER_OHM = 5.0
BLOCKED_S = 1e-9
"""What a diode in series lets through the wrong way round (assumed)."""
SETTLE_S, SETTLED_V = 60e-6, 1e-4
"""Time constant of the coil supply (settles in about 0.3 ms), and what is taken as settled."""


class Suppression(Shape):
    """The suppressor inside the part, across its coil."""

    kind: Literal["none", "resistor", "diode", "diode_zener", "series_diode"] = Field(
        default="none",
        description="what is connected across the coil; series_diode: a diode across it and one in series",
    )
    resistor_ohm: float = Field(default=680.0, gt=0, le=1e6, description="of kind resistor")
    zener_v: float = Field(default=24.0, gt=0, le=200, description="of kind diode_zener")
    reversed: bool = Field(default=False, description="the diodes are the wrong way round for the coil's polarity")


@dataclass(frozen=True, slots=True)
class Harness:
    """One bench around the coil: low-side switch with its shunt, both leads with their clips in the socket, clamp."""

    switch_ohm: float = SWITCH_OHM
    lead_ohm: float = 0.0
    tvs_v: float = TVS_V


NOMINAL = Harness()
"""The bench as drawn; its leads have no resistance."""


class Network(NamedTuple):
    """`current(w) = slope w + offset + sum of change * max(0, w - corner)` over `corners`, in rising order."""

    slope: float
    offset: float
    corners: tuple[tuple[float, float], ...]

    def current(self, w: float) -> float:
        """Amps at `w` volts."""
        amps = self.slope * w + self.offset
        for corner, change in self.corners:
            if w > corner:
                amps += change * (w - corner)
        return amps

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

    def raised(self, volts: float) -> "Network":
        """The same network, all of which goes to ground, with the coil's plus terminal higher above that."""
        corners = tuple([(corner - volts, change) for corner, change in self.corners])
        return Network(self.slope, self.offset + self.slope * volts, corners)

    def behind(self, ohm: float) -> "Network":
        """The same network seen through a resistance in series; every corner keeps its current."""
        if not ohm:
            return self
        slope, offset, corners = self.slope, self.offset, []
        for corner, change in self.corners:
            seen = slope / (1 + ohm * slope)
            at = corner + ohm * (slope * corner + offset)
            slope += change
            offset -= change * corner
            corners.append((at, slope / (1 + ohm * slope) - seen))
        first = 1 + ohm * self.slope
        return Network(self.slope / first, self.offset / first, tuple(corners))

    def through(self, part: Suppression) -> "Network":
        """The same network seen through the part's series diode: no current out of the coil's low end goes back."""
        if part.kind != "series_diode":
            return self
        zero_v, ohm, _, _ = self.segment(0.0)
        if part.reversed:
            return Network(BLOCKED_S, BLOCKED_S * zero_v, ())
        begins, seen = DIODE_V - zero_v, 1 / (ohm + DIODE_OHM)
        above = self.behind(DIODE_OHM).corners
        later = tuple((at + DIODE_V, change) for at, change in above if at + zero_v > 0)
        return Network(BLOCKED_S, -BLOCKED_S * begins, ((begins, seen - BLOCKED_S), *later))

    def beside(self, part: Suppression) -> "Network":
        """The same network with a part's own suppression across the coil, and in series with it."""
        if part.kind == "none":
            return self
        if part.kind == "series_diode":
            across = part.model_copy(update={"kind": "diode"})
            return self.through(part).beside(across)
        if part.kind == "resistor":
            return Network(self.slope + 1 / part.resistor_ohm, self.offset, self.corners)
        zener_v, ohm = (part.zener_v, ZENER_OHM) if part.kind == "diode_zener" else (0.0, 0.0)
        volts, siemens = DIODE_V + zener_v, 1 / (DIODE_OHM + ohm)
        if not part.reversed:
            return Network(self.slope, self.offset, tuple(sorted((*self.corners, (volts, siemens)))))
        corners = tuple(sorted((*self.corners, (-volts, -siemens))))
        return Network(self.slope + siemens, self.offset + siemens * volts, corners)


def bench_network(harness: Harness, supply_v: float, switch: bool, diode: bool) -> Network:
    """One state of the bench as the coil's terminals see it: low-side switch closed or not, 1N4007 in or not."""
    slope, offset = 1 / LEAK_OHM, supply_v / LEAK_OHM
    corners = [(harness.tvs_v - supply_v, 1 / TVS_OHM)]
    if switch:
        slope += 1 / harness.switch_ohm
        offset += supply_v / harness.switch_ohm
        corners.append((LIMIT_A * harness.switch_ohm - supply_v, 1 / LIMIT_OHM - 1 / harness.switch_ohm))
    if diode:
        corners.append((DIODE_V, 1 / DIODE_OHM))
    return Network(slope, offset, tuple(sorted(corners))).behind(harness.lead_ohm)


@dataclass(frozen=True, slots=True)
class Feed:
    """How the coil is fed since one moment: supply volts on their way to a target, switch, bench diode."""

    from_v: float = 0.0
    to_v: float = 0.0
    since_s: float = 0.0
    switch: bool = False
    diode: bool = False

    def volts(self, at_s: float, ahead_s: float = 0.0) -> float:
        """What the supply holds at a moment, or on average for a time from then, its current limit not counted."""
        left = (self.from_v - self.to_v) * exp((self.since_s - at_s) / SETTLE_S)
        if ahead_s:
            left *= (1 - exp(-ahead_s / SETTLE_S)) * SETTLE_S / ahead_s
        return self.to_v + left if abs(left) > SETTLED_V else self.to_v


class CoilCircuit(NamedTuple):
    """Volts and amps around the coil at one moment, as the bench could measure them."""

    plus_v: float
    low_side_v: float
    supply_a: float
    shunt_a: float


def at_socket(outer: Network, part: Suppression, coil_v: float) -> tuple[float, float]:
    """Volts at the part's coil terminals and amps through them, from the volts across its winding."""
    if part.kind != "series_diode":
        return coil_v, outer.current(-coil_v)
    amps = outer.through(part).current(-coil_v)
    source_v, ohm, _, _ = outer.segment(amps)
    return source_v - ohm * amps, amps


def circuit(bench_v: float, supply_v: float, switch: bool, harness: Harness) -> CoilCircuit:
    """From the volts at the bench's end of the coil leads: what the supply gives, and what flows in the shunt.

    The clamp sits across the MOSFET, so that its current flows in the shunt as well.
    """
    excess = supply_v - bench_v
    clamped = (excess - harness.tvs_v) / TVS_OHM if excess > harness.tvs_v else 0.0
    if not switch:
        return CoilCircuit(supply_v, excess, clamped + excess / LEAK_OHM, clamped)
    ohm = harness.switch_ohm
    amps, limited = excess / ohm, LIMIT_A + (excess - LIMIT_A * ohm) / LIMIT_OHM
    if limited < amps:
        amps = limited
    return CoilCircuit(bench_v + amps * ohm, amps * ohm, amps, amps)
