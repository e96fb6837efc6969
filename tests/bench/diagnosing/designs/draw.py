"""Designs drawn over the whole of what makers publish, and parts of one design, which differ by less.

Rule: a design is drawn from its seed and number alone, so that designs of seeds below 1000 (tuning) and from 1000 on
(held out) are never the same. A figure that makers do not print is drawn as wide as parts are built.
"""

import math
import random
from dataclasses import dataclass, replace
from functools import cache

from designs.second import figures
from designs.second.design import Design, Gap, Hinge, Iron, Leaf, Surface, Winding
from designs.second.iron import gap_reluctance
from pulldrop.plant.relay.suppression import Suppression

HELD_OUT_FROM = 1000
TRIES = 400
NONE = Suppression()


@dataclass(frozen=True)
class Window:
    """A figure's range at width 1; wider ones grow in proportion about its middle (of the logarithm)."""

    low: float
    high: float

    def at(self, width: float) -> "Window":
        middle, half = math.sqrt(self.low * self.high), math.log(self.high / self.low) / 2 * width
        return Window(middle * math.exp(-half), middle * math.exp(half))

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high

    def drawn(self, chance: random.Random) -> float:
        """Every value alike, of the logarithm."""
        return math.exp(chance.uniform(math.log(self.low), math.log(self.high)))


PULL_IN = Window(0.25, 0.65)
"""Of nominal at 20 degC. A maker's micro ISO sheet 3 to 7 V of 12 (second hand); at most 7.8 V: Hongfa HFV4 (read)."""
DROP_OUT = Window(0.10, 0.35)
"""Of nominal. The same micro ISO sheet, 1.2 to 4.2 V of 12 (second hand); at least 1.2 V: all sheets (read)."""
COIL_OHM = {12.0: Window(60.0, 120.0), 24.0: Window(250.0, 400.0)}
"""At 20 degC. 100 to 180 mA, 60 to 100 mA (common practice; 75 to 120 and 303 to 360 ohm on sheets that were read)."""
OPERATE_S = Window(2.4e-3, 9e-3)
"""At nominal. At most 10 ms, two minis typically 7, one 5 (sheets, read); the low end from memory."""
RELEASE_S = Window(0.8e-3, 8e-3)
"""No clamp but the bench's. At most 10 ms, typically 2 to 3 (sheets, read)."""
BOUNCE_S = {"bounce_time_no": Window(0.05e-3, 3e-3), "bounce_time_nc": Window(0.05e-3, 5e-3)}
"""No maker's figure found; 5 ms at most (common practice)."""
GAP_M = Window(4e-4, 8e-4)
"""Of the open NO: a maker says more than 0.8 mm, others 0.4 and more (second hand)."""
FORCE_NO_N, FORCE_NC_N = Window(0.3, 1.0), Window(0.2, 0.6)
"""From memory: 0.2 to 1 N for silver contacts of 10 to 40 A (Holm and makers' notes)."""
LEAKAGE = Window(0.2, 0.5)
"""Share of the core's flux that passes beside the open gap (textbooks of relay magnets, from memory)."""
AMPERE_TURNS = Window(90.0, 420.0)
"""Nominal; 1 to 2 W in a winding of 1000 to 3000 turns (common practice)."""
RESIDUAL_M = (1.5e-5, 2.5e-4)
TIMES = {"operate_time": OPERATE_S, "release_time": RELEASE_S, **BOUNCE_S}

LIMITS = {"pull_in": 0.70, "drop_out": 0.10, "operate_time": 10e-3, "release_time": 10e-3, "bounce": 5e-3}
"""Of the classes (protocols/ratings, relay-diagnose): a part beyond one of them is not counted as sound."""
MARGIN = 0.02
"""A sound part stays inside its limits by this share, so that no reading is near one."""


@dataclass(frozen=True)
class Drawn:
    """A design, or a part of it, with what it is sold as."""

    design: Design
    nominal_v: float

    @property
    def test_v(self) -> float:
        """The highest across the coil in a test: a system on charge."""
        return self.nominal_v * 13.5 / 12

    @property
    def rating(self) -> str:
        """The class it is tested against."""
        return f"class-mini-{self.nominal_v:.0f}v-form-{'c' if self.design.changeover else 'a'}"


@cache
def design(seed: int, number: int, width: float, form: str = "") -> Drawn:
    """Design `number` of a seed. Raises RuntimeError if none of many tries comes into the windows."""
    chance = random.Random(f"design:{seed}:{number}:{width}")
    nominal_v = chance.choice((12.0, 12.0, 12.0, 24.0))
    changeover = form == "C" if form else chance.random() < 0.75
    for _ in range(TRIES):
        made = _tried(chance, nominal_v, changeover, width)
        if made is not None and _fits(made, nominal_v, width) and sound(Drawn(made, nominal_v)):
            return Drawn(made, nominal_v)
    raise RuntimeError(f"no design within the windows in {TRIES} tries: seed {seed}, number {number}, width {width}")


def _tried(chance: random.Random, nominal_v: float, changeover: bool, width: float) -> Design | None:
    """A build drawn at random; its winding, residual gap and leakage solved for thresholds drawn from the windows."""
    pull_in, drop_out = (window.at(width).drawn(chance) for window in (PULL_IN, DROP_OUT))
    ohm = COIL_OHM[nominal_v].drawn(chance)
    made = _build(chance, changeover, width)
    closed = made.hinge.travel_m
    share = LEAKAGE.at(width).drawn(chance)
    leakage = share / (1 - share) / gap_reluctance(made, 0.0)
    made = replace(made, gap=replace(made.gap, leakage=leakage))
    for _ in range(3):
        nominal_a = figures.pull_in_a(made) / pull_in
        least, most = RESIDUAL_M

        def drops(residual_m: float, made: Design = made) -> float:
            return figures.drop_out_a(replace(made, gap=replace(made.gap, residual_m=residual_m)))

        residual_m = figures.solved(drops, drop_out * nominal_a, least, most)
        if residual_m is None:
            return None
        made = replace(made, gap=replace(made.gap, residual_m=residual_m))
    if nominal_a not in AMPERE_TURNS.at(width) or closed <= 0:
        return None
    turns = nominal_a * ohm / nominal_v
    own_h = chance.uniform(0.05, 0.12) * turns**2 * (1 / gap_reluctance(made, 0.0) + leakage)
    winding = replace(made.winding, turns=turns, ohm=ohm)
    return replace(made, winding=winding, gap=replace(made.gap, winding_h=own_h))


def _build(chance: random.Random, changeover: bool, width: float) -> Design:
    """Iron, springs and contacts as relays are built (ranges from memory where second/design.py names no source)."""
    lever, rate = chance.uniform(1.15, 1.6), chance.uniform(900, 3500)
    force_no = FORCE_NO_N.at(width).drawn(chance)
    force_nc = FORCE_NC_N.at(width).drawn(chance) if changeover else 0.0
    gap_m = GAP_M.at(width).drawn(chance)
    travel_m = (gap_m + (force_no + force_nc) / rate) / lever
    return Design(
        iron=Iron(
            area=math.pi / 4 * chance.uniform(5e-3, 8e-3) ** 2,
            length_m=chance.uniform(0.045, 0.075),
            mu=chance.uniform(2000, 8000),
            bs_t=chance.uniform(1.75, 2.0),
            hc=chance.uniform(40, 100),
            eddy_s=math.exp(chance.uniform(math.log(2000), math.log(8000))),
        ),
        gap=Gap(pole=chance.uniform(4e-5, 9e-5), hinge=chance.uniform(3e5, 1.1e6)),
        winding=Winding(
            near_j=chance.uniform(4, 9), near_k=chance.uniform(5, 10), far_j=chance.uniform(15, 30),
            far_k=chance.uniform(12, 28),
        ),
        hinge=Hinge(
            mass=chance.uniform(1.4e-3, 2.8e-3),
            long_m=chance.uniform(0.018, 0.024),
            arm_m=chance.uniform(0.013, 0.017),
            travel_m=travel_m,
            spring_n=lever * force_nc + chance.uniform(0.1, 0.9),
            rate=chance.uniform(50, 600),
            friction_n=math.exp(chance.uniform(math.log(0.01), math.log(0.04))),
            bounce=chance.uniform(0.15, 0.4),
        ),
        leaf=Leaf(
            mass=chance.uniform(2e-4, 4.5e-4),
            rate=rate,
            damping=chance.uniform(0.04, 0.12),
            lever=lever,
            gap_m=gap_m,
            preload_m=force_nc / rate,
            fixed_n_m=chance.uniform(1e5, 3e5),
            bounce=chance.uniform(0.25, 0.6),
        ),
        contact_no=surface(chance),
        contact_nc=surface(chance),
        changeover=changeover,
        friction_scatter=chance.uniform(0.15, 0.35),
        bounce_scatter=chance.uniform(0.02, 0.08),
    )  # fmt: skip


def surface(chance: random.Random) -> Surface:
    """From a contact as new to a worn one that is still good: below 100 mV at 10 A."""
    return Surface(
        metal_ohm=chance.uniform(0.6e-3, 3e-3),
        hardness=chance.uniform(4e8, 1.1e9),
        spots=chance.choice((1.0, 2.0, 3.0)),
        used_ohm=math.exp(chance.uniform(math.log(0.1e-3), math.log(2e-3))),
        scatter=chance.uniform(0.1, 0.3),
    )


def _fits(made: Design, nominal_v: float, width: float) -> bool:
    """Whether its times lie in the windows, and it meets every limit."""
    found = figures.times(made, NONE, 20.0, nominal_v)
    return bool(found) and all(found[id] in window.at(width) for id, window in TIMES.items() if id in found)


def sound(part: Drawn) -> bool:
    """Whether a part meets every limit of its class, with room to spare, when nothing but the bench clamps its coil."""
    made, volts = part.design, part.nominal_v
    per_a = made.winding.ohm / made.winding.turns / volts
    found = figures.times(made, NONE, 20.0, volts)
    if not found or figures.pull_in_a(made) * per_a > LIMITS["pull_in"] * (1 - MARGIN):
        return False
    within = COIL_OHM[volts].low * (1 + MARGIN) <= made.winding.ohm <= COIL_OHM[volts].high * (1 - MARGIN)
    slow = any(found[id] > LIMITS[id] * (1 - MARGIN) for id in ("operate_time", "release_time"))
    bounces = any(found.get(id, 0.0) > LIMITS["bounce"] * (1 - MARGIN) for id in BOUNCE_S)
    released = figures.drop_out_a(made) * per_a >= LIMITS["drop_out"] * (1 + 2 * MARGIN)
    return within and released and not slow and not bounces


SPREAD = {
    "iron": {"hc": 0.08, "mu": 0.08, "eddy_s": 0.05},
    "gap": {"residual_m": 0.06, "pole": 0.01, "leakage": 0.04},
    "winding": {"ohm": 0.02, "turns": 0.005},
    "hinge": {"spring_n": 0.04, "rate": 0.05, "travel_m": 0.01, "friction_n": 0.25, "bounce": 0.08, "mass": 0.01},
    "leaf": {"gap_m": 0.015, "preload_m": 0.05, "rate": 0.03, "bounce": 0.06, "mass": 0.02},
}
"""Standard deviation of the logarithm between parts of one design, chosen so that readings differ by 4 to 15 %: pull-in
and drop-out 4 and 6 %, bounce 13 to 15 (a trial on parts of one maker, 42 and 53 of them)."""


def part_of(design: Drawn, chance: random.Random) -> Drawn:
    """One part of a design that meets every limit. Raises RuntimeError if the design makes none such."""
    for _ in range(60):
        part = replace(design, design=_varied(design.design, chance))
        if sound(part):
            return part
    raise RuntimeError("a design none of whose parts meets the limits of its class")


def _varied(made: Design, chance: random.Random) -> Design:
    changed = {}
    for piece, spread in SPREAD.items():
        old = getattr(made, piece)
        changed[piece] = replace(
            old, **{name: getattr(old, name) * math.exp(chance.gauss(0, sd)) for name, sd in spread.items()}
        )
    return replace(made, **changed, contact_no=surface(chance), contact_nc=surface(chance))
