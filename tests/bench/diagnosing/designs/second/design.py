"""What one part of the second plant is made of, in SI units; figures in brackets are what relays of vehicles have.

Sources of the ranges: makers' sheets as in tests/published/makers_sheets.py where a figure is printed there; physical
constants from memory of Bozorth, Ferromagnetism (relay iron) and Holm, Electric Contacts; the rest is common practice.
"""

from dataclasses import dataclass, field

MU0 = 1.25663706212e-6
"""CODATA 2018."""


@dataclass(frozen=True, slots=True)
class Iron:
    """Core and yoke as one path of the core's section.

    area: of the core, m2 [6 to 8 mm across]; length_m: of core, and of yoke as long as it counts at its wider section;
    mu: initial relative permeability [2000 to 8000]; bs_t: flux density that Froehlich's curve tends to [1.75 to 2, so
    that the knee lies near 1.5 T]; hc: coercive force, A/m [40 to 100, soft relay iron]; turn_t: change of flux density
    within which a reversal reaches the other branch; eddy_s: conductance of the core as one turn, S [solid iron, sigma
    l / 8 pi: 2000 to 8000].
    """

    area: float = 3.2e-5
    length_m: float = 0.06
    mu: float = 4000.0
    bs_t: float = 1.9
    hc: float = 60.0
    turn_t: float = 0.15
    eddy_s: float = 4000.0


@dataclass(frozen=True, slots=True)
class Gap:
    """The air: pole face, m2; residual_m: non-magnetic layer on the pole [0.03 to 0.12 mm]; hinge: reluctance of the
    joint of yoke and armature, A/Wb; leakage: permeance beside the gap, H; winding_h: inductance of flux that links the
    winding but no iron, H."""

    pole: float = 7.0e-5
    residual_m: float = 6e-5
    hinge: float = 6e5
    leakage: float = 5e-8
    winding_h: float = 0.02


@dataclass(frozen=True, slots=True)
class Winding:
    """Copper: turns; ohm at 20 degC; two bodies that its heat passes, J/K and K/W each, near and far."""

    turns: float = 1500.0
    ohm: float = 90.0
    near_j: float = 6.0
    near_k: float = 8.0
    far_j: float = 20.0
    far_k: float = 22.0


@dataclass(frozen=True, slots=True)
class Hinge:
    """The armature, a plate that turns about one edge. mass kg [2 g]; long_m: hinge to tip; arm_m: hinge to pole;
    travel_m: at the pole; spring_n, rate: return spring at rest and per metre, at the pole; friction_n: Coulomb, at the
    pole; stop_n_m, bounce: stiffness of both stops and restitution there."""

    mass: float = 2e-3
    long_m: float = 0.022
    arm_m: float = 0.017
    travel_m: float = 7e-4
    spring_n: float = 0.8
    rate: float = 250.0
    friction_n: float = 0.02
    stop_n_m: float = 1.5e6
    bounce: float = 0.3

    @property
    def inertia_kg(self) -> float:
        """Mass that moves as far as the pole and resists as much: m L^2 / 3 over the arm squared."""
        return self.mass * self.long_m**2 / 3 / self.arm_m**2


@dataclass(frozen=True, slots=True)
class Leaf:
    """The contact leaf and its end. mass kg; rate N/m; damping: part of critical; lever: its travel over the pole's;
    gap_m: of the open NO [0.4 to 0.8 mm]; preload_m: by how far NC bends it at rest; fixed_n_m: rate of the contacts
    with their blades; bounce: restitution at them."""

    mass: float = 3e-4
    rate: float = 1800.0
    damping: float = 0.06
    lever: float = 1.35
    gap_m: float = 5e-4
    preload_m: float = 1.6e-4
    fixed_n_m: float = 2e5
    bounce: float = 0.45


@dataclass(frozen=True, slots=True)
class Surface:
    """One throw's contact. metal_ohm: blades and rivets; hardness Pa, resistivity ohm m, spots: Holm's constriction;
    used_ohm: what wear has laid over it, and its scatter from make to make (of the logarithm); film_ohm until film_v
    and film_a break it, or the first touch rubs it off; kelvin_per_w, warm_s: how its load warms it."""

    metal_ohm: float = 1.5e-3
    hardness: float = 5e8
    resistivity: float = 2.3e-8
    spots: float = 3.0
    used_ohm: float = 3e-4
    scatter: float = 0.2
    film_ohm: float = 0.0
    film_v: float = 0.2
    film_a: float = 0.05
    film_rubs_off: bool = False
    kelvin_per_w: float = 20.0
    warm_s: float = 8.0


@dataclass(frozen=True, slots=True)
class Defects:
    """What is wrong with it. shorted: share of the turns; ohm_factor: on the winding; weld_no, weld_nc: N that tear the
    weld, 0 none; stuck: the armature does not move, at rest or operated; gummed_s: at rest until it was pulled for so
    long, once; opens_above_c: its joint opens there."""

    coil_open: bool = False
    shorted: float = 0.0
    ohm_factor: float = 1.0
    weld_no: float = 0.0
    weld_nc: float = 0.0
    stuck: str = ""
    gummed_s: float = 0.0
    opens_above_c: float | None = None


@dataclass(frozen=True, slots=True)
class Design:
    """One part. changeover: it has NC, otherwise the armature's back stop alone ends its way back; friction_scatter and
    bounce_scatter: from move to move, of the logarithm."""

    iron: Iron = field(default_factory=Iron)
    gap: Gap = field(default_factory=Gap)
    winding: Winding = field(default_factory=Winding)
    hinge: Hinge = field(default_factory=Hinge)
    leaf: Leaf = field(default_factory=Leaf)
    contact_no: Surface = field(default_factory=Surface)
    contact_nc: Surface = field(default_factory=Surface)
    defects: Defects = field(default_factory=Defects)
    changeover: bool = True
    friction_scatter: float = 0.25
    bounce_scatter: float = 0.05
