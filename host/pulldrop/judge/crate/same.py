"""Whether two tests were of the same part: a likelihood ratio from measured values, weighed to odds.

For each value two stories are compared: one true value read twice, or two parts of the crate read once each. The
crate's own spread says how rare a value is (D. V. Lindley, A problem in forensic science, Biometrika 64, 1977); an odd
part in five (assumed) lies anywhere, so that two parts with one fault do not look like one part. Contact drops are
left out: a part that is put back makes on other spots.
"""

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Values = Mapping[str, tuple[float, float]]
"""By measurement: value and standard uncertainty."""

USUAL_SPREAD = {
    "coil_resistance_20c": 0.05,
    "pull_in_current": 0.08,
    "drop_out_voltage": 0.15,
    "operate_time": 0.08,
    "release_time": 0.25,
    "transfer_time": 0.10,
}
"""Standard deviation among the parts of one crate as a share, before the crate has shown its own (assumed)."""
WORTH = 5
"""So many parts the assumed spread is worth."""
LEAST_LOT = 5
"""So many other parts show how parts differ; with fewer a store gives no odds."""
ODD_SHARE, ODD_WIDE = 0.2, 5.0
LEAST_IN_COMMON = 3
REPEATS = 0.01
"""How often a hand takes a part that was sorted already (assumed)."""
DEPENDENT = 0.9
"""The values of one part hang together (a strong spring: late pull-in, slow make), so that they tell less than so many
independent ones would; the logarithm of their ratio is shortened to this share (assumed)."""
ASK_FROM = 10.0
"""Odds from which it is worth a person's look."""
MOST_SHOWN = 1_000_000


@dataclass(frozen=True, slots=True)
class Population:
    """The parts of a crate so far: how many, and median and spread of each value among them."""

    count: int
    spread: Mapping[str, tuple[float, float]]

    @classmethod
    def of(cls, crate: Sequence[Values]) -> "Population":
        """From the values of every part."""
        return cls(len(crate), {id: _population(id, crate) for id in USUAL_SPREAD})


def told_apart_by(values: Mapping[str, tuple[float, float]]) -> Values:
    """Of values with their expanded uncertainties those that tell parts apart, with standard ones."""
    return {id: (value, wide / 2) for id, (value, wide) in values.items() if id in USUAL_SPREAD}


def in_words(odds: float) -> str:
    """`300 to 1`, or `more than 1,000,000 to 1`."""
    more = "more than " if odds > MOST_SHOWN else ""
    return f"{more}{float(f'{min(odds, MOST_SHOWN):.1g}'):,.0f} to 1"


def odds(now: Values, before: Values, lot: Population) -> float:
    """Odds that both are of one part of this lot; 0 when too little is in common."""
    common = [id for id in USUAL_SPREAD if id in now and id in before]
    if len(common) < LEAST_IN_COMMON:
        return 0.0
    logs = [_log_ratio(now[id], before[id], *lot.spread[id]) for id in common]
    return math.exp(min(DEPENDENT * sum(logs), 50.0)) * REPEATS / max(lot.count, 1)


def tells(values: Values) -> bool:
    """Whether a part that was read so could be known again."""
    return len(USUAL_SPREAD.keys() & values.keys()) >= LEAST_IN_COMMON


def likeliest(now: Values, crate: Mapping[int, Values]) -> tuple[int, float] | None:
    """The number in the crate that looks most like these values, and the odds; None when none is worth asking."""
    lot = Population.of([*crate.values()])
    found = [(odds(now, values, lot), number) for number, values in crate.items()]
    best = max(found, default=(0.0, 0))
    return (best[1], best[0]) if best[0] >= ASK_FROM else None


def _population(id: str, crate: Sequence[Values]) -> tuple[float, float]:
    """Median and robust spread of one value among the parts of the crate."""
    values = sorted(one[id][0] for one in crate if id in one)
    middle = statistics.median(values) if values else 0.0
    assumed = USUAL_SPREAD[id] * middle
    if len(values) < 2:
        return middle, assumed
    # 1.4826 times the median deviation is the standard deviation of a normal lot, whatever a few odd parts do
    shown = 1.4826 * statistics.median(abs(value - middle) for value in values)
    return middle, math.sqrt((WORTH * assumed**2 + len(values) * shown**2) / (WORTH + len(values)))


def _log_ratio(now: tuple[float, float], before: tuple[float, float], middle: float, spread: float) -> float:
    (x, ux), (y, uy) = now, before
    apart = math.hypot(ux, uy)
    weight = uy**2 / (ux**2 + uy**2) if apart else 0.5
    both, u_both = weight * x + (1 - weight) * y, math.sqrt(weight) * ux if apart else 0.0
    same = _log_normal(x - y, apart) + _log_lot(both, u_both, middle, spread)
    return same - _log_lot(x, ux, middle, spread) - _log_lot(y, uy, middle, spread)


def _log_lot(value: float, u: float, middle: float, spread: float) -> float:
    """Of finding a value in the crate: nearly all parts alike, an odd one anywhere near."""
    usual = (1 - ODD_SHARE) * math.exp(_log_normal(value - middle, math.hypot(spread, u)))
    odd = ODD_SHARE * math.exp(_log_normal(value - middle, math.hypot(ODD_WIDE * spread, u)))
    return math.log(max(usual + odd, 1e-300))


def _log_normal(distance: float, sigma: float) -> float:
    sigma = max(sigma, 1e-12)
    return -0.5 * (distance / sigma) ** 2 - math.log(sigma * math.sqrt(2 * math.pi))
