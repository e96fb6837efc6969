"""Uncertainty budgets: quantities with named causes, carried through arithmetic after the GUM.

Rule: a cause that acts twice (one shunt's gain in two readings) is made once, so that its effect is correlated.
The propagation is first order (JCGM 100:2008, 5.1.2 and 5.2.2), done by the `uncertainties` package.
"""

import math
import statistics
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist
from typing import Any

from pulldrop.model.bench.calibration import COIL_COMMON, MET_AGAIN, Calibration, Channel, Share
from pulldrop.model.coverage import SHARE, Shape, shape_of
from pulldrop.model.raw import Contact
from pulldrop.model.reading import Mend, Term, effective_freedom


@contextmanager
def hidden(package: str) -> Iterator[None]:
    """Imports in here do not find a package that they would only use if it is there; one that is loaded stays."""
    if package in sys.modules:
        yield
        return
    sys.modules[package] = None  # type: ignore[assignment]  # so Python's documentation has it
    try:
        yield
    finally:
        del sys.modules[package]


with hidden("numpy"):  # which takes 0.2 s at every start, for arrays that are not used here
    from uncertainties import ufloat

PRIOR_FREEDOM = 3.0
"""What an assumed scatter is worth in degrees of freedom: a handful of makes outweighs it."""

NOISE_COUNTS = 0.5
"""Standard deviation of one reading of the INA226 at an average of four (assumed)."""
BUS_INPUT_S = 1 / 830e3
"""Bus input of the INA226 (data sheet, typical): what it draws at the coil's volts flows through the coil's shunt."""
COMMON_A_PER_V = math.hypot(0.5e-6 / 0.1, 0.2 * BUS_INPUT_S)
"""Amps that the coil's shunt shows of each volt of its supply, at most, beyond that: 126 dB of the INA226 (TI SBOS547)
over 0.1 ohm, and a fifth of what its bus input draws."""
COMMON_WHY = "INA226: zero taken at 0 V, 0.5 uV/V (126 dB); its bus input, 20 %"
LEADS_OHM = 0.04
"""Leads and clips of the coil, at most (assumed)."""
Z = NormalDist().inv_cdf((1 + SHARE) / 2)
"""Standard deviations of a normal quantity that hold SHARE of it, to either side."""
HALVINGS = 30
"""Of an interval, until what is left of it is below any reading's resolution (1e-9 of it)."""
ENOUGH = 6
"""Makes whose lowest and highest hold the median with 95 %: 1 - 2 / 2^6."""


@dataclass(frozen=True, slots=True)
class TermCause:
    """What a term is called, why it has its size, how it is distributed, its freedom if it is of type A, and what would
    make it smaller."""

    name: str
    why: str
    freedom: float | None = None
    shape: Shape = "normal"
    mend: Mend = "nothing"


def uncertain(
    value: float, u: float, name: str, why: str, freedom: float | None = None, shape: Shape = "normal",
    mend: Mend = "nothing",
) -> Any:  # fmt: skip
    """A value with one standard uncertainty `u` (in the value's unit) from one named cause."""
    cause = TermCause(name, why, freedom, shape, mend)
    return ufloat(value, u, tag=cause) if u else value + 0.0 * ufloat(0.0, 1.0, tag=cause)


def rectangular(half_width: float, name: str, why: str, mend: Mend = "nothing") -> Any:
    """Zero, known within +-half_width, every place equally likely (GUM 4.3.7)."""
    return uncertain(0.0, half_width / math.sqrt(3), name, why, shape="rectangular", mend=mend)


def whole_or_none(effect: float, name: str, why: str) -> Any:
    """An effect that is there or is not, nobody knows which: its middle, and as far to either side."""
    return uncertain(effect / 2, abs(effect) / 2, name, why, shape="two values")


def terms(value: Any) -> tuple[Term, ...]:
    """The budget of a propagated value, largest term first; terms of one name and reason are added in squares."""
    alike: dict[tuple[str, str], list[Term]] = {}
    for component, u in value.error_components().items():
        cause: TermCause = component.tag
        if u:
            one = Term(
                name=cause.name, u=abs(u), why=cause.why, freedom=cause.freedom, shape=cause.shape, mend=cause.mend
            )
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
        shape=shape_of((t.u, t.shape) for t in same),
        mend=same[0].mend,
    )


def nominal_value(value: Any) -> float:
    """The number without its uncertainty."""
    return float(value.nominal_value)


def median_of(values: Sequence[float], what: str, assumed: float = 0.0) -> Any:
    """The median of repeated makes, with the scatter's effect on it as a type A term.

    `assumed` is the standard deviation expected of such makes before any was made; it is pooled with what fewer than
    ENOUGH of them show (JCGM 100:2008, 4.2.4), so that few makes that happen to agree do not claim that they always
    will. More of them speak for themselves.
    """
    n, middle = len(values), statistics.median(values)
    prior = PRIOR_FREEDOM if assumed and n < ENOUGH else 0.0
    shown = statistics.stdev(values) if n > 1 else 0.0
    freedom = prior + n - 1
    if not freedom:
        return middle
    spread = math.sqrt((prior * assumed**2 + (n - 1) * shown**2) / freedom)
    u = median_share(n) * spread
    return uncertain(middle, u, "scatter", f"{what}: {n}", freedom, mend="makes") if u else middle


def enclosed_median(values: Sequence[float], what: str, assumed: float) -> Any:
    """The median of makes that need not be normal, such as bounces, which may come in twos and threes.

    u is such that its interval holds 95 % of what the makes tell about the median, whichever their distribution
    (`held_within`): it reaches the other group as soon as the median may lie there. Fewer than ENOUGH makes cannot hold
    as much, and are taken as normal.
    """
    middle = statistics.median(values)
    reach = _reach(values, middle) if len(values) >= ENOUGH else 0.0
    if not reach:
        return median_of(values, what, assumed)
    return uncertain(middle, reach / Z, "scatter", f"{what}: {len(values)}, by their ranks", mend="makes")


def _reach(values: Sequence[float], middle: float) -> float:
    """How far from `middle` the median lies at most, with SHARE."""
    least, most = 0.0, max(middle - min(values), max(values) - middle)
    for _ in range(HALVINGS if most else 0):
        reach = (least + most) / 2
        least, most = (reach, most) if held_within(values, middle - reach, middle + reach) < SHARE else (least, reach)
    return most


def held_within(values: Sequence[float], low: float, high: float) -> float:
    """The probability that the median of the values' distribution lies from `low` to `high`.

    Between the k-th of n values and the next it lies with binomial(n, k) / 2^n, whichever the distribution (sign test);
    in between every place is taken as equally likely.
    """
    ordered, n, held = sorted(values), len(values), 0.0
    for k, (start, end) in enumerate(pairwise(ordered), 1):
        inside = min(end, high) - max(start, low)
        share = max(inside, 0.0) / (end - start) if end > start else float(inside >= 0)
        held += share * math.comb(n, k) / 2**n
    return held


def median_share(n: int) -> float:
    """Standard deviation of the median of n normal values over that of one of them.

    sqrt(pi / 2n) for many; this form is exact for 1 and within 1.5 % for odd n, and errs high for even n, by 4 % from
    10 on (against numbers from simulation; see the tests).
    """
    return math.sqrt(math.pi / (2 * n + math.pi - 2))


def _unit(share: Share) -> Any:
    """A cause of standard uncertainty 1, to be weighed by each channel that it acts on."""
    mend: Mend = "nothing" if share.name in MET_AGAIN else "calibration"
    return uncertain(0.0, 1.0, share.name, share.why, shape=share.shape, mend=mend)


class ChannelScale:
    """One channel of a calibration as a function from counts to a value with budget; gain and zero are shared.

    `one` is 1 with the gain's relative uncertainty, for values that were scaled before; `causes` collects, by name,
    what several channels share.
    """

    def __init__(self, channel: Channel, name: str, causes: dict[str, Any]) -> None:
        own = (
            uncertain(1.0, channel.u_gain, f"{name} gain", channel.why, shape=channel.shape, mend="calibration")
            if channel.u_gain
            else 1.0
        )
        self.one = own + sum(one.u * causes.setdefault(one.name, _unit(one)) for one in channel.shares)
        self._gain = channel.gain * self.one
        self._zero = uncertain(
            channel.zero, channel.u_zero, f"{name} zero", channel.why, shape=channel.shape, mend="calibration"
        )

    def __call__(self, counts: Any) -> Any:
        """Counts, plain or with budget, to the channel's unit."""
        return (counts - self._zero) * self._gain

    def span(self, counts: Any) -> Any:
        """A difference of two counts: the zero cancels."""
        return counts * self._gain


class ChannelScales:
    """Every channel of one bench, each made once."""

    def __init__(self, calibration: Calibration) -> None:
        self._causes = causes = dict[str, Any]()
        self.bus = ChannelScale(calibration.coil_bus, "coil volts", causes)
        self.shunt = ChannelScale(calibration.coil_shunt, "coil amps", causes)
        self.drop = ChannelScale(calibration.drop, "contact volts", causes)
        self.load = ChannelScale(calibration.load, "load amps", causes)
        self.tick = ChannelScale(calibration.tick, "clock", causes)
        self.low_side_ohm = uncertain(
            calibration.low_side_ohm,
            calibration.u_low_side_ohm,
            "low side",
            "switch and fast shunt below the coil",
            mend="calibration",
        )
        clips, why = calibration.clips, "blade and clip lie between the sense points"
        room = uncertain(0.0, clips.u_ohm, "clips", why, shape=clips.shape, mend="calibration")
        self.clips = {Contact.NO: clips.no_ohm + room, Contact.NC: clips.nc_ohm + room}
        self.temperature_k = uncertain(
            0.0, calibration.u_temperature_k, "temperature", "NTC and its divider", mend="calibration"
        )

    def coil_amps(self, counts: Any, volts: float) -> Any:
        """Coil amps from shunt counts less those at 0 V; `volts` on the coil's supply show on the shunt as well."""
        common = self.against(COMMON_A_PER_V * volts, COIL_COMMON, COMMON_WHY)
        return self.shunt.span(counts) - volts * BUS_INPUT_S + common

    def against(self, half_width: float, name: str, why: str) -> Any:
        """Zero, known within +-half_width, from a cause that a calibration may have met too, where more of it made a
        gain less: so it leaves what is read of a like thing by as much as it got into the gain."""
        cause = self._causes.setdefault(name, _unit(Share(name=name, u=1.0, why=why, shape="rectangular")))
        return -half_width / math.sqrt(3) * cause


def reading_noise(counts: Any, name: str) -> Any:
    """One reading of the INA226: a whole count, and what it scatters by."""
    noise = uncertain(0.0, NOISE_COUNTS, f"{name} noise", "a mean of four conversions")
    return counts + rectangular(0.5, f"{name} resolution", "one count") + noise
