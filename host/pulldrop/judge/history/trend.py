"""Whether a row of readings has a trend, how steep it is, and whether it left its own usual range; pure arithmetic.

Mann-Kendall's test (M. G. Kendall, Rank Correlation Methods) and Theil and Sen's slope (P. K. Sen, J. Am. Stat. Assoc.
63, 1968) ask nothing of the distribution and bear a wild reading. EWMA: NIST/SEMATECH e-Handbook, 6.3.2.4.
"""

import math
import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations, pairwise

MOST_EXACT = 40
"""Up to so many readings without ties the test's probability is counted out; beyond, the normal law is near enough."""
NORMAL = statistics.NormalDist()


@dataclass(frozen=True, slots=True)
class Kendall:
    """`s` pairs that rise less pairs that fall, its variance without a trend, the normal score, two-sided `p`."""

    s: int
    variance: float
    z: float
    p: float


def mann_kendall(values: Sequence[float]) -> Kendall:
    """The test of a trend in values in order of time; ties are allowed."""
    n = len(values)
    s = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    ties = [t for t in Counter(values).values() if t > 1]
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    z = (abs(s) - 1) / math.sqrt(variance) if s and variance else 0.0
    p = _counted(n, abs(s)) if not ties and n <= MOST_EXACT else 2 * (1 - NORMAL.cdf(z))
    return Kendall(s, variance, math.copysign(z, s) if s else 0.0, min(p, 1.0))


def _counted(n: int, s: int) -> float:
    """Share of all orders of n values whose score is as far from zero as s, either way."""
    pairs = n * (n - 1) // 2
    falls = (pairs - s) // 2
    return min(1.0, 2 * sum(_orders(n)[: falls + 1]) / math.factorial(n)) if s else 1.0


@cache
def _orders(n: int) -> tuple[int, ...]:
    """How many orders of n values have 0, 1, 2 ... falling pairs."""
    counts = [1]
    for k in range(2, n + 1):
        longer = [0] * (len(counts) + k - 1)
        for falls, count in enumerate(counts):
            for more in range(k):
                longer[falls + more] += count
        counts = longer
    return tuple(counts)


@dataclass(frozen=True, slots=True)
class Slope:
    """Median slope of all pairs, and the interval that holds the true one."""

    value: float
    low: float
    high: float


def theil_sen(x: Sequence[float], y: Sequence[float], confidence: float = 0.95) -> Slope:
    """Needs two different x at least; the interval is Sen's, from the test's variance."""
    slopes = sorted((d - b) / (c - a) for (a, b), (c, d) in combinations(zip(x, y, strict=True), 2) if c != a)
    sigma = math.sqrt(mann_kendall(y).variance)
    half = NORMAL.inv_cdf((1 + confidence) / 2) * sigma
    low = max(round((len(slopes) - half) / 2) - 1, 0)
    high = min(round((len(slopes) + half) / 2), len(slopes) - 1)
    return Slope(statistics.median(slopes), slopes[low], slopes[high])


@dataclass(frozen=True, slots=True)
class StraightLine:
    """A straight line by least squares, and the standard deviation of what it leaves."""

    intercept: float
    slope: float
    residual: float


def line(x: Sequence[float], y: Sequence[float]) -> StraightLine:
    """Needs three points, not all at one x."""
    fit = statistics.linear_regression(x, y)
    left = math.fsum((b - fit.intercept - fit.slope * a) ** 2 for a, b in zip(x, y, strict=True))
    return StraightLine(fit.intercept, fit.slope, math.sqrt(left / (len(x) - 2)))


def slope_uncertainty(x: Sequence[float], u: Sequence[float]) -> float:
    """Standard uncertainty that the readings' own (`u`, independent) give to the slope of their line."""
    middle = statistics.fmean(x)
    share = [a - middle for a in x]
    return math.sqrt(math.fsum((a * b) ** 2 for a, b in zip(share, u, strict=True))) / math.fsum(a * a for a in share)


def inflated(slope: Slope, u: float) -> Slope:
    """The interval with the readings' uncertainty in it, twice the standard one, added by squares."""
    return Slope(
        slope.value,
        slope.value - math.hypot(slope.value - slope.low, 2 * u),
        slope.value + math.hypot(slope.high - slope.value, 2 * u),
    )


@dataclass(frozen=True, slots=True)
class UsualLevel:
    """Mean and standard deviation (n - 1) of readings."""

    mean: float
    sd: float


def level(values: Sequence[float]) -> UsualLevel:
    """Needs two readings at least; exact, however large the mean is against the spread."""
    return UsualLevel(statistics.fmean(values), statistics.stdev(values))


STEP_OF_TWO = 2 / math.sqrt(math.pi)
"""Mean distance of two draws from a normal law of standard deviation 1."""


def scatter(values: Sequence[float]) -> float:
    """Standard deviation from the steps between neighbours (e-Handbook, 6.3.2.2), a steady drift taken off them.

    Needs three values; the drift costs one of the steps.
    """
    steps = [b - a for a, b in pairwise(values)]
    drift = statistics.median(steps)
    return math.fsum(abs(step - drift) for step in steps) / (len(steps) - 1) / STEP_OF_TWO


def changed(before: float, before_expanded: float, after: float, after_expanded: float) -> bool:
    """A change is one only when it exceeds the root of both squared uncertainties."""
    return abs(after - before) > math.hypot(before_expanded, after_expanded)


@dataclass(frozen=True, slots=True)
class Ewma:
    """Smoothed values, and the lines that they stay within while nothing changes."""

    smoothed: tuple[float, ...]
    lower: float
    upper: float


def ewma(
    values: Sequence[float], centre: float, sigma: float, *, share: float = 0.3, width: float = 3.0,
    centre_u: float = 0.0,
) -> Ewma:  # fmt: skip
    """Exponentially weighted moving average from `centre` on. `centre_u`: what is not known of the centre itself."""
    smoothed, last = [], centre
    for value in values:
        last = share * value + (1 - share) * last
        smoothed.append(last)
    reach = width * math.hypot(sigma * math.sqrt(share / (2 - share)), centre_u)
    return Ewma(tuple(smoothed), centre - reach, centre + reach)


def capability(mean: float, sd: float, low: float | None, high: float | None) -> float | None:
    """Cpk: distance to the nearer limit in units of three standard deviations; None without a limit or a spread."""
    rooms = [room for room in (high - mean if high is not None else None, mean - low if low is not None else None)
             if room is not None]  # fmt: skip
    return min(rooms) / (3 * sd) if rooms and sd else None
