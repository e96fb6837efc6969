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

NO, NC = 0, 1
Change = tuple[float, int, bool]
"""A touch that begins or ends: time, throw, closed."""

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
    nc_press_mm: float = Field(default=0.15, ge=0, le=5, description="how far 87a bends the leaf at rest (fitted)")
    overtravel_mm: float = Field(default=0.35, ge=-5, le=5, description="armature travel left as 87 touches (fitted)")
    fixed_n_per_mm: float = Field(default=100.0, gt=0, le=1000, description="rate of the fixed contacts (assumed)")
    contact_damping_s_per_m: float = Field(default=1.5, ge=0, le=10, description="loss at the contacts (fitted)")
    damping_scatter: float = Field(
        default=0.02, ge=0, le=2, description="of that loss from move to move, as friction_scatter (assumed)"
    )


class Mechanics:
    """Masses, springs and places in SI, ready to be stepped. Never changed."""

    __slots__ = (
        "c_fixed", "c_leaf", "damping_scatter", "f_return", "free_w", "friction", "k_fixed", "k_leaf", "k_pressed",
        "k_return", "nc_at", "no_at", "per_contact", "per_mass", "restitution", "scatter", "share", "touching_w",
        "travel",
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
        self.share = self.k_leaf / (self.k_leaf + self.k_fixed)
        self.k_pressed = self.share * self.k_fixed
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

    def quiet_within(self, place: float) -> tuple[float, float]:
        """Swing and speed below which the leaf's ringing about `place` can neither open nor close a contact."""
        near = min(abs(place - self.no_at), abs(place - self.nc_at))
        touching = place > self.no_at or place < self.nc_at
        room = max(STILL_M, QUIET_SHARE * near)
        return room, room * (self.touching_w if touching else self.free_w)

    def holds_between(self, s: float, z: float, friction: float) -> tuple[float, float]:
        """Least and most pull, N, at which an armature at rest at `s` stays there: springs, friction and stops."""
        hold = self.f_return + self.k_return * s + self.k_leaf * (s - z)
        return hold - friction if s > 0 else -math.inf, hold + friction if s < self.travel else math.inf

    def fixed_forces(self, z: float, w: float, damping: float, weld_no: float, weld_nc: float) -> tuple[float, float]:
        """Forces of NO and of NC on the moving contact; below 0 a fixed contact would have to pull."""
        f_no = f_nc = 0.0
        if z > self.no_at or weld_no:
            d = z - self.no_at
            f_no = self.k_fixed * (d + damping * (d if d > 0 else -d) * w)
        if z < self.nc_at or weld_nc:
            d = self.nc_at - z
            f_nc = self.k_fixed * (d - damping * (d if d > 0 else -d) * w)
        return f_no, f_nc

    def crossed(
        self, before: tuple[bool, bool], now: tuple[bool, bool], was: float, z: float, t: float, h: float
    ) -> list[Change]:
        """The changes of touch in a step from `t` in which the moving contact went from `was` to `z`."""
        places = (self.no_at, self.nc_at)
        return [
            (t + h * part_before(was, z, places[throw]), throw, now[throw])
            for throw in (NO, NC)
            if now[throw] != before[throw]
        ]

    def force_on(self, net: float, s: float, v: float, friction: float) -> float:
        """What is left of the `net` force on an armature: friction is against its speed, or holds it; stops hold it."""
        if v > 0 or (v == 0 and net > friction and s < self.travel):
            return net - friction
        if v < 0 or (net < -friction and s > 0):
            return net + friction
        return 0.0

    # --- a leaf that follows: at rest in itself, on the armature or against a fixed contact ---

    def share_followed(self, s: float) -> float:
        """The moving contact's speed as a share of the armature's."""
        return self.share if s > self.no_at or s < self.nc_at else 1.0

    def force_followed(self, pull: float, s: float, v: float, friction: float) -> float:
        """Force that moves an armature whose leaf follows it."""
        net = pull - self.f_return - self.k_return * s
        if s > self.no_at:
            net -= self.k_pressed * (s - self.no_at) + self.c_leaf * (1 - self.share) * v
        elif s < self.nc_at:
            net -= self.k_pressed * (s - self.nc_at) + self.c_leaf * (1 - self.share) * v
        return self.force_on(net, s, v, friction)

    def per_mass_followed(self, s: float) -> float:
        """One over the mass that the armature then has to speed up: its own, and the moving contact's share."""
        share = self.share_followed(s)
        return 1 / (1 / self.per_mass + share * share / self.per_contact)

    def same_reach(self, s: float, to_s: float) -> bool:
        """Whether no contact opens or closes between two places of an armature whose leaf follows it."""
        return (s > self.no_at) == (to_s > self.no_at) and (s < self.nc_at) == (to_s < self.nc_at)

    def follows(self, s: float, v: float, z: float, w: float, ahead_s: float) -> bool:
        """Whether the leaf does follow, within the swing that counts as still, and will for some time."""
        place, share = self.place_of_rest(s, 0.0, 0.0), self.share_followed(s)
        near = min(abs(place - self.no_at), abs(place - self.nc_at))
        room = min(STILL_M, 0.5 * near)
        freely = self.touching_w if share < 1 else self.free_w
        return abs(z - place) < room and abs(w - share * v) < room * freely and self.same_reach(s, s + 2 * v * ahead_s)


def part_before(was: float, now: float, mark: float) -> float:
    """How much of a step had passed when the mark was crossed."""
    return min(max((mark - was) / (now - was), 0.0), 1.0) if now != was else 1.0
