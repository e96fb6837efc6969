"""How far a sum of causes reaches: its 95 % interval, and the share of it beyond an edge.

Rule: the distribution is the one that the causes make together, and no other. A maker's limit that outweighs the rest
reaches 1.65 standard uncertainties, not 2 (EA-4/02, S9.14); of many causes of a size comes a normal quantity.
The distribution follows from the product of the causes' characteristic functions (JCGM 101:2008 asks for the
propagation of distributions and leaves the method open); few makes widen it by Student's factor.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Literal

Shape = Literal["normal", "rectangular", "triangular", "two values"]
"""How one cause is distributed. Two values: the whole effect or none, about their middle."""
SHARE = 0.95
"""Share of the true values that the stated interval holds (JCGM 101:2008, 7.7: a coverage interval of 95 %)."""
_CHARACTER: dict[Shape, Callable[[float], float]] = {
    "rectangular": lambda t: _sinc(math.sqrt(3) * t),
    "triangular": lambda t: _sinc(math.sqrt(1.5) * t) ** 2,
    "two values": math.cos,
}
"""Characteristic functions at standard deviation 1, but for the normal one."""
_EXCESS: dict[Shape, float] = {"normal": 0.0, "triangular": -0.6, "rectangular": -1.2, "two values": -2.0}
"""Fourth cumulant at standard deviation 1."""
SMALL = 0.1
"""A cause with less than this share of the whole standard uncertainty counts as normal: k moves by less than 1e-4."""
LEAST_NORMAL = 0.02
"""Least share that is taken as normal, so that the sum below ends; k moves by 1e-3."""
STEP = math.pi / 4
"""Step of the characteristic function's argument: exact but for what lies beyond 2 pi / STEP - x, 5 deviations."""
STATED_Z = NormalDist().inv_cdf((1 + SHARE) / 2)
"""Deviations within which a normal quantity stays with SHARE."""
JUDGED_Z = NormalDist().inv_cdf(0.98)
"""Deviations at which a judge asks: tails of 2 %."""


@dataclass(frozen=True, slots=True)
class Spread:
    """What a value may be off by. `u`: standard uncertainty; `parts`: causes that are not normal, each with its share
    of `u` and its shape; `freedom`: effective degrees of freedom."""

    u: float
    parts: tuple[tuple[float, Shape], ...] = ()
    freedom: float = math.inf

    @property
    def factor(self) -> float:
        """Standard uncertainties that the interval of SHARE reaches to either side (coverage factor k)."""
        return _reach(self.parts) * student_factor(self.freedom, STATED_Z) / STATED_Z

    def above(self, edge: float) -> float:
        """Probability that the error is above `edge`, in the unit of `u`."""
        if self.u == 0:
            return 1.0 if edge < 0 else 0.5 if edge == 0 else 0.0
        x = edge / self.u * JUDGED_Z / student_factor(self.freedom, JUDGED_Z)
        return 1 - NormalDist().cdf(x) if not self.parts else _above(self.parts, x)


def spread(causes: Iterable[tuple[float, Shape]], freedom: float = math.inf) -> Spread:
    """What independent causes, each with its standard uncertainty and shape, make together."""
    listed = list(causes)
    whole = math.hypot(*[u for u, _ in listed])
    parts = [
        (round(u / whole, 4), shape) for u, shape in listed if shape != "normal" and whole and abs(u) > SMALL * whole
    ]
    return Spread(whole, tuple(sorted(parts)), freedom)


def shape_of(causes: Iterable[tuple[float, Shape]]) -> Shape:
    """The shape that independent causes together come nearest to, by their fourth cumulant."""
    listed = list(causes)
    whole = sum(u**2 for u, _ in listed)
    if not whole:
        return "normal"
    excess = sum(_EXCESS[shape] * u**4 for u, shape in listed) / whole**2
    return min(_EXCESS, key=lambda shape: abs(_EXCESS[shape] - excess))


def student_factor(freedom: float, z: float) -> float:
    """Student's factor that covers, with `freedom` degrees of freedom, what `z` covers of a normal quantity.

    Expansion of Fisher and Cornish (Abramowitz and Stegun 26.7.5), within 1 % from 2 degrees on; below 2 it is that
    of 1 degree, taken from the exact law tan(pi p / 2) (JCGM 100:2008, table G.2: 13.97 for z = 2).
    """
    if freedom == math.inf:
        return z
    if freedom < 2:
        return math.tan(math.pi / 2 * math.erf(z / math.sqrt(2)))
    g1 = (z**3 + z) / 4
    g2 = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    g3 = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    g4 = (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92_160
    x = 1 / freedom
    return z + x * (g1 + x * (g2 + x * (g3 + x * g4)))


@lru_cache(maxsize=1024)
def _reach(parts: tuple[tuple[float, Shape], ...]) -> float:
    """Standard deviations to either side that hold SHARE."""
    if not parts:
        return STATED_Z
    least, most = 0.0, 4.0
    while most - least > 1e-4:
        middle = (least + most) / 2
        least, most = (middle, most) if 2 * _above(parts, middle) > 1 - SHARE else (least, middle)
    return most


def _above(parts: tuple[tuple[float, Shape], ...], x: float) -> float:
    """Share above `x` standard deviations, by the midpoint sum of the inversion integral (Gil-Pelaez 1951)."""
    x = max(min(x, 5.0), -5.0)
    return 0.5 - sum(weight * math.sin(t * x) for t, weight in _curve(parts)) / math.pi


@lru_cache(maxsize=1024)
def _curve(parts: tuple[tuple[float, Shape], ...]) -> tuple[tuple[float, float], ...]:
    """Arguments of the characteristic function with its value there over their number, as far as it matters."""
    normal = max(1 - sum(share**2 for share, _ in parts), LEAST_NORMAL**2)
    points = []
    for number in range(math.ceil(5.5 / math.sqrt(normal) / STEP)):
        t = (number + 0.5) * STEP
        value = math.exp(-normal * t * t / 2)
        for share, shape in parts:
            value *= _CHARACTER[shape](share * t)
        points.append((t, value / (number + 0.5)))
    return tuple(points)


def _sinc(x: float) -> float:
    return math.sin(x) / x if x else 1.0
