"""What a crate's parts have in common: why they were not kept, how each measurement is spread, and its capability.

Rule: a capability is given only where it makes sense: one limit, enough usable parts, and values like a bell's.
"""

import math
import statistics
from collections.abc import Iterable, Sequence

from pulldrop.judge.history.trend import capability, level
from pulldrop.model.crate.crate import Bin, Cause, Placed
from pulldrop.model.crate.lot import LotCause, Value, ValueSpread
from pulldrop.model.limit import Limit
from pulldrop.model.measurement import MEASUREMENTS

USABLE = (Bin.KEEP, Bin.LIGHT_DUTY)
LEAST = 10
"""Usable parts, below which a standard deviation is known to less than a quarter of itself."""
BELL = 5.99
"""Above this, Jarque and Bera's statistic says with 95 % that values are not normal (chi squared, two degrees):
then there is no Cpk. A crate of used parts is a mixture, so most measurements have none."""


def causes(parts: Iterable[Placed]) -> tuple[LotCause, ...]:
    """By the first reason of each part that is not kept, the most frequent first (Pareto's order)."""
    found: dict[tuple[Bin, Cause | str], list[Placed]] = {}
    for one in parts:
        if one.bin is not Bin.KEEP:
            found.setdefault((one.bin, one.cause or _first(one)), []).append(one)
    made = [
        LotCause(bin=bin, text=_cause(alike[0]), numbers=tuple(one.number for one in alike))
        for (bin, _), alike in found.items()
    ]
    return tuple(sorted(made, key=lambda one: (-len(one.numbers), one.numbers)))


def _cause(one: Placed) -> str:
    """Without figures, which differ among parts with the same trouble."""
    if one.cause and one.cause.about == "limit":
        return f"{MEASUREMENTS[one.cause.id].title}: limit not met, or not for sure"
    return _first(one)


def _first(one: Placed) -> str:
    return one.reasons[0] if one.reasons else "no reason was recorded"


def spread(id: str, values: Sequence[Value], limits: Sequence[Limit | None]) -> ValueSpread:
    """One measurement; `limits` are those that its readings were held against, in the same order."""
    bounds = {(one.low, one.high) for one in limits if one is not None}
    limit = next((one for one in reversed(limits) if one is not None), None) if len(bounds) == 1 else None
    usable = [one.value for one in values if one.usable]
    lot = level(usable) if len(usable) > 1 else None
    why = _no_capability(usable, bounds)
    known = MEASUREMENTS[id]
    return ValueSpread(
        id=id,
        title=known.title,
        unit=known.unit,
        values=tuple(values),
        limit=limit,
        mean=lot.mean if lot else None,
        sd=lot.sd if lot else None,
        cpk=capability(lot.mean, lot.sd, limit.low, limit.high) if lot and limit and not why else None,
        no_cpk=why,
    )


def _no_capability(usable: Sequence[float], bounds: set[tuple[float | None, float | None]]) -> str:
    if not bounds:
        return "no limit"
    if len(bounds) > 1:
        return "parts were held against different limits"
    if len(usable) < LEAST:
        return f"only {len(usable)} usable parts have it; {LEAST} are needed"
    if not level(usable).sd:
        return "no spread"
    return "" if bell(usable) <= BELL else "not spread like a bell"


def bell(values: Sequence[float]) -> float:
    """Jarque and Bera's statistic: 0 for the skewness and kurtosis of a normal law. Needs a spread."""
    mean, count = statistics.fmean(values), len(values)
    second, third, fourth = (statistics.fmean((one - mean) ** power for one in values) for power in (2, 3, 4))
    skewness, excess = third / math.pow(second, 1.5), fourth / second**2 - 3
    return count / 6 * (skewness**2 + excess**2 / 4)
