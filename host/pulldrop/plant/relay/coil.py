"""The coil and its magnetic circuit: copper, flux, saturation, eddy currents, pull on the armature.

Two states: coil current `i` (A) and core flux `phi` (Wb). With `x` the air gap (m):

    turns i - eddy dphi/dt + residual = mmf(phi, x)
    leakage di/dt + turns dphi/dt     = u(i) - i R
    mmf(phi, x) = phi (R_iron (1 + (|phi| / phi_sat)^6) + (x + x_residual) / (mu0 A))
    pull        = phi^2 / (2 mu0 A)          (Maxwell stress on the pole face)

The eddy term is one shorted turn of conductance `eddy` around the core; shorted turns of the winding add to it.
"""

import math

from pydantic import Field

from pulldrop.plant.shape import Shape

MU0 = 4e-7 * math.pi
"""Permeability of free space, H/m."""

COPPER_ZERO_C = -234.5
"""Where the straight line of copper's resistance meets zero, degC: makers' figure; 0.00393/K of IEC 60028 is 234.45."""

GAMMA = 1 - math.sqrt(0.5)
"""Coefficient of the two-stage, L-stable Rosenbrock method of order 2 (Verwer and others, 1999)."""


def copper_ohm(ohm_at_20c: float, temperature_c: float) -> float:
    """Resistance of a copper winding at another temperature: R2/R1 = (234.5 + T2)/(234.5 + T1)."""
    return ohm_at_20c * (temperature_c - COPPER_ZERO_C) / (20.0 - COPPER_ZERO_C)


class Coil(Shape):
    """Winding and iron of one part. Fitted means: chosen so that typical figures of the class emerge."""

    resistance_ohm: float = Field(default=85.0, gt=0, le=1e5, description="winding alone, at 20 degC")
    turns: float = Field(default=1400, gt=0, le=1e5, description="turns of the winding (fitted)")
    pole_area_mm2: float = Field(default=77.4, gt=0, le=1000, description="face of the core (fitted)")
    residual_gap_mm: float = Field(default=0.051, gt=0, le=1, description="air gap left when seated (fitted)")
    iron_reluctance: float = Field(
        default=1.14e6, gt=0, description="core and yoke, far from saturation, A/Wb (fitted)"
    )
    saturation_t: float = Field(
        default=0.894, gt=0, le=3, description="where the iron's reluctance doubles, T (fitted)"
    )
    eddy_s: float = Field(default=1413.0, gt=0, le=1e5, description="conductance of the iron as one turn, S (fitted)")
    leakage_mh: float = Field(default=25.0, gt=0, le=1000, description="inductance of flux outside the iron (assumed)")
    residual_mmf_a: float = Field(
        default=0.0, ge=-200, le=200, description="what nominal ampere-turns leave in the iron; more leave more"
    )
    heating_k_per_w: float = Field(
        default=35.0, ge=0, le=200, description="rise of the winding per watt in it; 0: no self-heating (assumed)"
    )
    heating_s: float = Field(
        default=150.0, gt=0, le=1e5, description="time constant of that rise (assumed): 4 J/K of winding and near iron"
    )


class Magnetics:
    """The two equations with their constants in SI, ready to be stepped; of what it holds only `residual` ever changes,
    and what was last worked out for a step of one length."""

    __slots__ = (
        "_h", "_iron", "_ohm", "_terms", "area_term", "eddy", "iron", "leakage", "pull_gain", "residual",
        "saturated_vs", "saturation", "turns", "x_residual",
    )  # fmt: skip

    def __init__(self, coil: Coil, shorted_fraction: float) -> None:
        area = coil.pole_area_mm2 * 1e-6
        lost = coil.turns * shorted_fraction
        self.turns = coil.turns - lost
        # the shorted turns are a secondary winding of their own: (turns)^2 / ohms, as seen by one turn
        loop_ohm = coil.resistance_ohm * shorted_fraction
        self.eddy = coil.eddy_s + (lost * lost / loop_ohm if lost else 0.0)
        self.leakage = coil.leakage_mh * 1e-3 * (1 - shorted_fraction) ** 2
        self.iron = coil.iron_reluctance
        self.saturation = coil.saturation_t * area
        self.saturated_vs = self.turns * self.saturation
        self.area_term = 1.0 / (MU0 * area)
        self.x_residual = coil.residual_gap_mm * 1e-3
        self.pull_gain = 1.0 / (2 * MU0 * area)
        self.residual = coil.residual_mmf_a
        self._iron = self.iron / self.eddy / self.saturation**6, self.iron / self.eddy, self.area_term / self.eddy
        self._h = self._ohm = 0.0

    def mmf(self, phi: float, gap: float) -> float:
        """Ampere-turns that hold the flux `phi` over the air gap `gap` (m)."""
        b2 = (phi / self.saturation) ** 2
        return phi * (self.iron * (1 + b2 * b2 * b2) + (gap + self.x_residual) * self.area_term)

    def step(self, phi: float, i: float, gap: float, h: float, u0: float, ohm: float) -> tuple[float, float]:
        """Flux and current after `h` seconds at a fixed gap, fed from `u0` volts through `ohm` (winding included).

        Linearly implicit, order 2, L-stable: the current's own time constant may be far shorter than the step.
        """
        if h != self._h or ohm != self._ohm:
            self._fit(h, ohm)
        turns, turns_e, stiff, iron, area, gh, per_h, c, d, half, bend = self._terms
        # f = (dphi/dt, volts across the leakage and the turns), and the slope of the first
        straight, kept = iron + (gap + self.x_residual) * area, self.residual / self.eddy
        b2 = phi * phi
        bent = b2 * b2 * b2 * stiff
        volts = u0 - ohm * i
        per_det = 1 / (d + gh * (straight + 7 * bent))
        k1 = (turns_e * i + kept - phi * (straight + bent) + c * volts) * per_det
        k2 = (volts - turns * k1) * per_h
        p, q = phi + h * k1, i + h * k2
        b2 = p * p
        volts = bend * k2 - volts
        l1 = (turns_e * q + kept - p * (straight + b2 * b2 * b2 * stiff) - 2 * k1 + c * volts) * per_det
        return p + half * (k1 + l1), q + half * (k2 + (volts - turns * l1) * per_h)

    def _fit(self, h: float, ohm: float) -> None:
        """What all steps of one length and one resistance share; motion.py takes many in a row.

        The volts are linear in flux and current, so that the second row of each stage is solved for the current's slope
        beforehand.
        """
        gh, turns_e = GAMMA * h, self.turns / self.eddy
        per_h = 1 / (self.leakage + gh * ohm)
        c = gh * turns_e * per_h
        self._h, self._ohm = h, ohm
        self._terms = (
            self.turns, turns_e, *self._iron, gh, per_h, c, 1 + c * self.turns, 0.5 * h, ohm * (2 * gh - h),
        )  # fmt: skip
