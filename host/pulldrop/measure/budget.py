"""Uncertainty budgets: quantities with named causes, carried through arithmetic after the GUM.

Rule: a cause that acts twice (one shunt's gain in two readings) is made once, so that its effect is correlated.
The propagation is first order (JCGM 100:2008, 5.1.2 and 5.2.2), done by the `uncertainties` package.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from uncertainties import ufloat

from pulldrop.model.calibration import Calibration, Channel, Share
from pulldrop.model.reading import Term, effective_freedom

PRIOR_FREEDOM = 3.0
"""What an assumed scatter is worth in degrees of freedom: a handful of makes outweighs it."""


@dataclass(frozen=True, slots=True)
class Cause:
    """What an uncertainty term is called, why it has its size, and its degrees of freedom if it is of type A."""

    name: str
    why: str
    freedom: float | None = None


def uncertain(value: float, u: float, name: str, why: str, freedom: float | None = None) -> Any:
    """A value with one standard uncertainty `u` (in the value's unit) from one named cause."""
    return ufloat(value, u, tag=Cause(name, why, freedom))


def rectangular(half_width: float, name: str, why: str) -> Any:
    """Zero, known within +-half_width, every place equally likely (GUM 4.3.7)."""
    return uncertain(0.0, half_width / math.sqrt(3), name, why)


def terms(value: Any) -> tuple[Term, ...]:
    """The budget of a propagated value, largest term first; terms of one name and reason are added in squares."""
    alike: dict[tuple[str, str], list[Term]] = {}
    for component, u in value.error_components().items():
        cause: Cause = component.tag
        if u:
            one = Term(name=cause.name, u=abs(u), why=cause.why, freedom=cause.freedom)
            alike.setdefault((cause.name, cause.why), []).append(one)
    return tuple(sorted((_added(same) for same in alike.values()), key=lambda t: -t.u))


def _added(same: list[Term]) -> Term:
    """Independent terms of one kind as one term."""
    if len(same) == 1:
        return same[0]
    freedom = effective_freedom(same)
    return Term(
        name=same[0].name,
        u=math.hypot(*(t.u for t in same)),
        why=same[0].why,
        freedom=None if math.isinf(freedom) else freedom,
    )


def nominal_value(value: Any) -> float:
    """The number without its uncertainty."""
    return float(value.nominal_value)


def median_of(values: Sequence[float], what: str, assumed: float = 0.0) -> Any:
    """The median of repeated makes, with the scatter's effect on it as a type A term.

    `assumed` is the standard deviation expected of such makes before any was made; it is pooled with what they show
    (JCGM 100:2008, 4.2.4), so that few makes that happen to agree do not claim that they always will.
    """
    n, middle = len(values), statistics.median(values)
    prior = PRIOR_FREEDOM if assumed else 0.0
    shown = statistics.stdev(values) if n > 1 else 0.0
    freedom = prior + n - 1
    if not freedom:
        return middle
    spread = math.sqrt((prior * assumed**2 + (n - 1) * shown**2) / freedom)
    u = median_share(n) * spread
    return uncertain(middle, u, "scatter", f"{what}: {n}", freedom) if u else middle


def enclosed_median(values: Sequence[float], what: str, assumed: float) -> Any:
    """The median of makes that need not be normal, such as bounces, which may come in twos and threes.

    Twice its uncertainty reaches the order statistics that enclose the median of any distribution with at least 95 %
    (sign test: ranks k and n + 1 - k with P(binomial(n, 1/2) < k) <= 2.5 %); the normal estimate is the least.
    """
    ordered, n, middle = sorted(values), len(values), statistics.median(values)
    rank, below = 0, 1
    while below + math.comb(n, rank + 1) <= 0.025 * 2**n:
        rank += 1
        below += math.comb(n, rank)
    reach = max(middle - ordered[rank], ordered[n - 1 - rank] - middle) / 2
    normal = median_of(values, what, assumed)
    if isinstance(normal, float) or reach <= normal.std_dev:
        return normal
    return uncertain(middle, reach, "scatter", f"{what}: {n}, by their ranks")


def median_share(n: int) -> float:
    """Standard deviation of the median of n normal values over that of one of them.

    sqrt(pi / 2n) for many; this form is exact for 1 and within 1.5 % for odd n, and errs high for even n, by 4 % from
    10 on (against numbers from simulation; see the tests).
    """
    return math.sqrt(math.pi / (2 * n + math.pi - 2))


def _unit(share: Share) -> Any:
    """A cause of standard uncertainty 1, to be weighed by each channel that it acts on."""
    return uncertain(0.0, 1.0, share.name, share.why)


class Scale:
    """One channel of a calibration as a function from counts to a value with budget; gain and zero are shared.

    `one` is 1 with the gain's relative uncertainty, for values that were scaled before; `causes` collects, by name,
    what several channels share.
    """

    def __init__(self, channel: Channel, name: str, causes: dict[str, Any]) -> None:
        own = uncertain(1.0, channel.u_gain, f"{name} gain", channel.why) if channel.u_gain else 1.0
        self.one = own + sum(one.u * causes.setdefault(one.name, _unit(one)) for one in channel.shares)
        self._gain = channel.gain * self.one
        self._zero = uncertain(channel.zero, channel.u_zero, f"{name} zero", channel.why)

    def __call__(self, counts: Any) -> Any:
        """Counts, plain or with budget, to the channel's unit."""
        return (counts - self._zero) * self._gain

    def span(self, counts: Any) -> Any:
        """A difference of two counts: the zero cancels."""
        return counts * self._gain


class Scales:
    """Every channel of one bench, each made once."""

    def __init__(self, calibration: Calibration) -> None:
        causes: dict[str, Any] = {}
        self.bus = Scale(calibration.coil_bus, "coil volts", causes)
        self.shunt = Scale(calibration.coil_shunt, "coil amps", causes)
        self.drop = Scale(calibration.drop, "contact volts", causes)
        self.load = Scale(calibration.load, "load amps", causes)
        self.tick = Scale(calibration.tick, "clock", causes)
        self.low_side_ohm = uncertain(
            calibration.low_side_ohm, calibration.u_low_side_ohm, "low side", "switch and fast shunt below the coil"
        )
        self.temperature_k = uncertain(0.0, calibration.u_temperature_k, "temperature", "NTC and its divider")


def reading_noise(counts: Any, name: str) -> Any:
    """A whole count, known to half a count either way."""
    return counts + rectangular(0.5, f"{name} resolution", "one count")
