"""Flux and ampere-turns: Froehlich's curve with a coercive branch, the gap with leakage beside it, Maxwell's pull.

The core is two shells of one section each, because eddy currents hold the flux out of its middle: the outer shell sees
the winding behind half of the eddy currents, the inner one behind the rest.
"""

from math import sqrt

from designs.second.design import MU0, Design, Iron

LEAST_MU = 60.0
"""Differential permeability beyond the knee, where the curve goes on as a straight line: soft iron has 50 to 100 near
1.8 T (Bozorth, from memory)."""
EDDY_OUTER = 0.5
"""Share of the eddy conductance around the whole flux; all of it is around the inner shell's (a cylinder's losses)."""


def knee_t(iron: Iron) -> float:
    """Tesla from which the curve is straight: where Froehlich's has come down to LEAST_MU."""
    return iron.bs_t * (1 - sqrt(min(LEAST_MU / iron.mu, 1.0)))


def field(iron: Iron, b: float) -> float:
    """A/m without hysteresis at `b` tesla: B / (mu mu0) over 1 - |B| / Bs (Froehlich 1881), straight past the knee."""
    knee = knee_t(iron)
    if abs(b) <= knee:
        return b / (MU0 * iron.mu) / (1 - abs(b) / iron.bs_t)
    at = knee / (MU0 * iron.mu) / (1 - knee / iron.bs_t)
    return (at + (abs(b) - knee) / (MU0 * LEAST_MU)) * (1 if b > 0 else -1)


def slope(iron: Iron, b: float) -> float:
    """A/m per tesla of the same curve, with what the coercive branch can add while it turns."""
    share = min(abs(b), knee_t(iron)) / iron.bs_t
    return 1 / (MU0 * iron.mu) / (1 - share) ** 2 + iron.hc / iron.turn_t


def turned(iron: Iron, branch: float, change_t: float) -> float:
    """The branch, -1 to 1, after the flux density changed: a stop operator, so that minor loops close."""
    return min(max(branch + change_t / iron.turn_t, -1.0), 1.0)


def gap_reluctance(design: Design, closed_m: float) -> float:
    """A/Wb of gap and hinge in series, the armature `closed_m` on its way."""
    gap = design.gap
    air = max(design.hinge.travel_m - closed_m + gap.residual_m, 5e-6)
    return gap.hinge + air / (MU0 * gap.pole)


def air_ampere_turns(design: Design, flux: float, closed_m: float) -> float:
    """Ampere-turns over the gap for the core's flux, a part of which passes beside the gap."""
    return flux / (1 / gap_reluctance(design, closed_m) + design.gap.leakage)


def pull(design: Design, flux: float, closed_m: float) -> float:
    """Newton at the pole: B^2 A / (2 mu0) of the flux that passes the gap (Maxwell)."""
    in_gap = air_ampere_turns(design, flux, closed_m) / gap_reluctance(design, closed_m)
    return in_gap**2 / (2 * MU0 * design.gap.pole)


def ampere_turns(design: Design, flux: float, closed_m: float, branch: float) -> float:
    """Ampere-turns that hold the core's flux, both shells alike."""
    iron = design.iron
    h = field(iron, flux / iron.area) + iron.hc * branch
    return air_ampere_turns(design, flux, closed_m) + h * iron.length_m


def flux_for_pull(design: Design, newton: float, closed_m: float) -> float:
    """The core's flux at which the pole pulls so much."""
    in_gap = sqrt(2 * MU0 * design.gap.pole * newton)
    return in_gap * (1 + design.gap.leakage * gap_reluctance(design, closed_m))
