"""The moving parts: armature with return spring and stops, and the moving contact as a second mass on a leaf.

All positions are referred to the pole face (lever ratio 1): `s` is the armature's travel from its back stop,
`z` the moving contact's place; the leaf is slack at z = s. The fixed contacts stand at `nc_at` and `no_at`:

    m_arm s''     = pull - (F0 + k s) - leaf -+ friction         0 <= s <= travel, restitution at both ends
    m_contact z'' = leaf - F_no + F_nc
    leaf          = k_leaf (s - z) + c_leaf (s' - z')
    F_fixed       = k_fixed (d + c_fixed |d| d')                 d: how far the fixed contact is pushed back

The last line is the contact law of Hunt and Crossley (1975); it loses energy without sticking, and pulls (d < 0)
only on a weld. Bounce, transfer
time and the contact force follow from these four lines.
"""

import math

from pydantic import Field

from pulldrop.plant.shape import Shape

STILL_M, QUIET_SHARE = 0.4e-6, 0.2
"""The leaf counts as still below this swing, or below this share of its way to the next opening or closing."""


class Armature(Shape):
    """Masses, springs and distances of one part. Fitted as a whole; none of them is a maker's figure."""

    travel_mm: float = Field(default=1.5, gt=0, le=10, description="of the armature, back stop to core (fitted)")
    mass_g: float = Field(default=1.6, gt=0, le=50, description="of the armature, referred to the pole (fitted)")
    return_n: float = Field(default=1.0, ge=0, le=50, description="return spring at rest (fitted)")
    return_n_per_mm: float = Field(default=0.2, ge=0, le=50, description="rate of the return spring (fitted)")
    friction_n: float = Field(default=0.02, gt=0, le=1000, description="of the hinge (assumed)")
    friction_scatter: float = Field(
        default=0.3, ge=0, le=2, description="of the hinge from move to move, standard deviation of the logarithm"
    )
    restitution: float = Field(default=0.3, ge=0, lt=1, description="of the armature at its stops (fitted)")
    leaf_n_per_mm: float = Field(default=5.0, gt=0, le=100, description="rate of the contact leaf (fitted)")
    leaf_damping: float = Field(default=0.05, ge=0, le=1, description="of the leaf, part of critical (assumed)")
    contact_g: float = Field(default=0.3, gt=0, le=10, description="moving contact and end of the leaf (fitted)")
    nc_press_mm: float = Field(default=0.15, ge=0, le=5, description="how far NC bends the leaf at rest (fitted)")
    overtravel_mm: float = Field(default=0.35, ge=-5, le=5, description="armature travel left as NO touches (fitted)")
    fixed_n_per_mm: float = Field(default=100.0, gt=0, le=1000, description="rate of the fixed contacts (assumed)")
    contact_damping_s_per_m: float = Field(default=1.5, ge=0, le=10, description="loss at the contacts (fitted)")
    damping_scatter: float = Field(
        default=0.02, ge=0, le=2, description="of that loss from move to move, as friction_scatter (assumed)"
    )


class Mechanics:
    """Masses, springs and places in SI, ready to be stepped. Never changed."""

    __slots__ = (
        "c_fixed", "c_leaf", "damping_scatter", "f_return", "free_w", "friction", "k_fixed", "k_leaf", "k_return",
        "nc_at", "no_at", "per_contact", "per_mass", "restitution", "scatter", "touching_w", "travel",
    )  # fmt: skip

    def __init__(self, arm: Armature, changeover: bool) -> None:
        self.travel = arm.travel_mm * 1e-3
        self.no_at = (arm.travel_mm - arm.overtravel_mm) * 1e-3
        self.nc_at = arm.nc_press_mm * 1e-3 if changeover else -1.0  # out of reach
        self.k_leaf, self.k_fixed = arm.leaf_n_per_mm * 1e3, arm.fixed_n_per_mm * 1e3
        self.c_leaf = 2 * arm.leaf_damping * math.sqrt(self.k_leaf * arm.contact_g * 1e-3)
        self.c_fixed = arm.contact_damping_s_per_m
        self.f_return, self.k_return, self.friction = arm.return_n, arm.return_n_per_mm * 1e3, arm.friction_n
        self.per_mass, self.per_contact = 1e3 / arm.mass_g, 1e3 / arm.contact_g
        self.restitution, self.scatter, self.damping_scatter = (
            arm.restitution,
            arm.friction_scatter,
            arm.damping_scatter,
        )
        self.free_w = math.sqrt(self.k_leaf * self.per_contact)
        self.touching_w = math.sqrt((self.k_leaf + self.k_fixed) * self.per_contact)

    def place_of_rest(self, s: float, weld_no: float, weld_nc: float) -> float:
        """Where the moving contact ends up when the armature stays at `s`: free, or against a fixed contact."""
        if weld_no or s > self.no_at:
            return (self.k_leaf * s + self.k_fixed * self.no_at) / (self.k_leaf + self.k_fixed)
        if weld_nc or s < self.nc_at:
            return (self.k_leaf * s + self.k_fixed * self.nc_at) / (self.k_leaf + self.k_fixed)
        return s

    def forces_at_rest(self, z: float) -> tuple[float, float]:
        """Contact forces of NO and NC, N, with the moving contact at rest at `z`."""
        return self.k_fixed * max(0.0, z - self.no_at), self.k_fixed * max(0.0, self.nc_at - z)

    def quiet(self, z: float, w: float, place: float) -> bool:
        """Whether what is left of the leaf's ringing about `place` can neither open nor close a contact."""
        near = min(abs(place - self.no_at), abs(place - self.nc_at))
        touching = place > self.no_at or place < self.nc_at
        room = max(STILL_M, QUIET_SHARE * near)
        return abs(z - place) < room and abs(w) < room * (self.touching_w if touching else self.free_w)

    def holds_between(self, s: float, z: float, friction: float) -> tuple[float, float]:
        """Least and most pull, N, at which an armature at rest at `s` stays there: springs, friction and stops."""
        hold = self.f_return + self.k_return * s + self.k_leaf * (s - z)
        return hold - friction if s > 0 else -math.inf, hold + friction if s < self.travel else math.inf
