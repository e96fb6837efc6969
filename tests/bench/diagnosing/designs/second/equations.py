"""Rates of change of the second plant, and one Runge-Kutta step of them; nothing here keeps a state.

State: winding's current A, flux of outer and inner shell Wb, armature at the pole m and m/s, leaf's end m and m/s.
Both run from rest: the armature to the travel, the leaf's end from NC at 0 to NO at the gap.

Error: with 12.5 us steps contacts touch within 1 us of where half of the step has them, and bounces end within 10 us
(test_second.py). Within a step the same contacts and stops touch; a step ends where one of them changes.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import log, pi, sqrt
from typing import NamedTuple

from designs.second.design import MU0, Design
from designs.second.iron import EDDY_OUTER, field, knee_t, slope

CREEP_M_S = 2e-3
"""Below this speed friction is proportional to speed, so that the equations stay smooth."""

State = tuple[float, float, float, float, float, float, float]
Rates = Callable[[State, "Step"], State]


class Touch(NamedTuple):
    """What touches: NO, NC, armature on the pole, armature on its back stop."""

    no: bool
    nc: bool
    pole: bool
    back: bool


@dataclass(slots=True)
class Step:
    """What holds during one step. source, ohm: of all around the winding, its own ohms with it; follows: the current
    has no inductance of its own to wait for; branch, from_t: of both shells, coercive branch at a flux density."""

    source: float
    ohm: float
    follows: bool
    touch: Touch
    friction: float
    bounce: float
    branch: tuple[float, float]
    from_t: tuple[float, float]
    held: bool


def damping(restitution: float, rate: float, mass: float) -> float:
    """Ns/m of a Kelvin-Voigt contact that gives back so much of a mass's speed."""
    lost = log(max(min(restitution, 0.99), 0.01))
    return 2 * (-lost / sqrt(pi**2 + lost**2)) * sqrt(rate * mass)


class Equations:
    """Of one design; `turns` and `eddy` with a short in the winding counted."""

    def __init__(self, design: Design) -> None:
        self.design = design
        shorted = design.defects.shorted
        self.turns = design.winding.turns * (1 - shorted)
        own_ohm = design.winding.ohm * design.defects.ohm_factor
        self.outer_s = EDDY_OUTER * design.iron.eddy_s + shorted * design.winding.turns**2 / own_ohm
        self.rates = self._made()

    @property
    def eddy_ohm(self) -> float:
        """The eddy currents as the winding sees them at first."""
        return self.turns**2 / self.outer_s

    @property
    def fastest_per_s(self) -> float:
        """The highest rate at which flux can settle, the core saturated; RK4 holds to a step of 2.78 over it."""
        iron = self.design.iron
        per_wb = iron.length_m * slope(iron, iron.bs_t) / (iron.area / 2)
        return (self.design.gap.hinge + per_wb) / self.outer_s + 2 * per_wb / iron.eddy_s

    def current(self, s: State, step: Step) -> float:
        """Amps of a winding whose current follows its flux at once."""
        iron, half = self.design.iron, self.design.iron.area / 2
        h = field(iron, s[1] / half) + iron.hc * _branch(iron.turn_t, step.branch[0], s[1] / half - step.from_t[0])
        air = self.air(s[1] + s[2], s[3])
        return (step.source + self.turns * (air + h * iron.length_m) / self.outer_s) / (step.ohm + self.eddy_ohm)

    def air(self, flux: float, z: float) -> float:
        """Ampere-turns of the gap."""
        gap = self.design.gap
        reluctance = gap.hinge + max(self.design.hinge.travel_m - z + gap.residual_m, 5e-6) / (MU0 * gap.pole)
        return flux / (1 / reluctance + gap.leakage)

    def _made(self) -> Rates:
        """The rates with every constant at hand: this is called a million times."""
        design = self.design
        iron, gap, hinge, leaf = design.iron, design.gap, design.hinge, design.leaf
        half, length, straight, bs = iron.area / 2, iron.length_m, 1 / (MU0 * iron.mu), iron.bs_t
        hc, turn = iron.hc, 1 / iron.turn_t
        pole, leakage, joint, open_m = MU0 * gap.pole, gap.leakage, gap.hinge, hinge.travel_m + gap.residual_m
        turns, outer, inner, winding_h = self.turns, self.outer_s, iron.eddy_s, gap.winding_h
        mass, spring, rate, travel = hinge.inertia_kg, hinge.spring_n, hinge.rate, hinge.travel_m
        stop_k, stop_c = hinge.stop_n_m, damping(hinge.bounce, hinge.stop_n_m, mass)
        end, leaf_k, lever, preload, gap_m = leaf.mass, leaf.rate, leaf.lever, leaf.preload_m, leaf.gap_m
        leaf_c = 2 * leaf.damping * sqrt(leaf_k * end)
        fixed_k, plain_c = leaf.fixed_n_m, damping(leaf.bounce, leaf.fixed_n_m, end)
        knee, eddy_ohm = knee_t(iron), self.eddy_ohm

        def rates(s: State, step: Step) -> State:
            i, f1, f2, z, vz, y, vy = s
            b1, b2 = f1 / half, f2 / half
            h1 = b1 * straight / (1 - abs(b1) / bs) if -knee < b1 < knee else field(iron, b1)
            h2 = b2 * straight / (1 - abs(b2) / bs) if -knee < b2 < knee else field(iron, b2)
            branch = step.branch[0] + (b1 - step.from_t[0]) * turn
            h1 += hc if branch > 1 else -hc if branch < -1 else hc * branch
            branch = step.branch[1] + (b2 - step.from_t[1]) * turn
            h2 += hc if branch > 1 else -hc if branch < -1 else hc * branch
            reluctance = joint + max(open_m - z, 5e-6) / pole
            air = (f1 + f2) / (1 / reluctance + leakage)
            if step.follows:
                i = (step.source + turns * (air + h1 * length) / outer) / (step.ohm + eddy_ohm)
                df = (turns * i - air - h1 * length) / outer
                di = 0.0
            else:
                df = (turns * i - air - h1 * length) / outer
                di = (step.source - step.ohm * i - turns * df) / winding_h
            df2 = (h1 - h2) * length / inner
            if step.held:
                return (di, df - df2, df2, 0.0, 0.0, 0.0, 0.0)
            touch = step.touch
            bends = leaf_k * (lever * z - preload - y) + leaf_c * (lever * vz - vy)
            along = air / reluctance
            force = along * along / (2 * pole) - spring - rate * z - lever * bends
            force -= step.friction * (1 if vz > CREEP_M_S else -1 if vz < -CREEP_M_S else vz / CREEP_M_S)
            if touch.pole:
                force -= stop_k * (z - travel) + stop_c * vz
            if touch.back:
                force -= stop_k * z + stop_c * vz
            if touch.no:
                bends -= fixed_k * (y - gap_m) + plain_c * step.bounce * vy
            if touch.nc:
                bends -= fixed_k * y + plain_c * step.bounce * vy
            return (di, df - df2, df2, vz, force / mass, vy, bends / end)

        return rates


def _branch(turn_t: float, branch: float, change_t: float) -> float:
    return min(max(branch + change_t / turn_t, -1.0), 1.0)


def advanced(rates: Rates, s: State, step: Step, h: float) -> State:
    """One step of the classical Runge-Kutta method of fourth order."""
    a1, b1, c1, d1, e1, f1, g1 = rates(s, step)
    i, p, q, z, vz, y, vy = s
    k = h / 2
    middle = (i + k * a1, p + k * b1, q + k * c1, z + k * d1, vz + k * e1, y + k * f1, vy + k * g1)
    a2, b2, c2, d2, e2, f2, g2 = rates(middle, step)
    middle = (i + k * a2, p + k * b2, q + k * c2, z + k * d2, vz + k * e2, y + k * f2, vy + k * g2)
    a3, b3, c3, d3, e3, f3, g3 = rates(middle, step)
    end = (i + h * a3, p + h * b3, q + h * c3, z + h * d3, vz + h * e3, y + h * f3, vy + h * g3)
    a4, b4, c4, d4, e4, f4, g4 = rates(end, step)
    k = h / 6
    return (
        i + k * (a1 + 2 * a2 + 2 * a3 + a4),
        p + k * (b1 + 2 * b2 + 2 * b3 + b4),
        q + k * (c1 + 2 * c2 + 2 * c3 + c4),
        z + k * (d1 + 2 * d2 + 2 * d3 + d4),
        vz + k * (e1 + 2 * e2 + 2 * e3 + e4),
        y + k * (f1 + 2 * f2 + 2 * f3 + f4),
        vy + k * (g1 + 2 * g2 + 2 * g3 + g4),
    )
