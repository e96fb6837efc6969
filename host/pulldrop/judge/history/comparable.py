"""Readings of many runs to series that may be compared: the same volts and load, brought to 20 degC.

Rule: a reading that cannot be brought to the conditions of the newest one is left out, and named with its reason.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from pulldrop.model.history.history import Measured, Point, Series
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.reading import ConditionName, condition

SAME = (ConditionName.COIL_VOLTAGE, ConditionName.CLAMP, ConditionName.ENDS_AT)
"""Conditions that must agree, as the load must: a contact is no constant resistance."""
VOLTS_STEP = 0.5
"""Coil volts nearer than this count as the same: operate time moves 0.3 % with 0.1 V."""
WARMTH_SHARE = 0.004
"""Half a kelvin, what the bench's thermometer leaves, is 0.2 % of a coil; here expanded (k = 2)."""
SLOWED_DOUBT = 0.5
"""Of a correction of times, what is left open, expanded: it is that of a coil at rest, and the way takes time too."""


@dataclass(frozen=True, slots=True)
class _Run:
    """The readings of one run by their id."""

    by_id: dict[str, Measured]


def series_of(readings: Iterable[Measured], cleaned: datetime | None = None) -> tuple[Series, ...]:
    """One series a measurement, in the order of the list of measurements, each from the oldest reading on.

    `cleaned`: when its contacts last were; they begin again then.
    """
    ordered = sorted(readings, key=lambda one: (one.at, one.run))
    runs = [_Run({one.id: one for one in of}) for _, of in groupby(ordered, key=lambda one: one.run)]
    found = (_series(id, runs, cleaned) for id in MEASUREMENTS)
    return tuple(one for one in found if one is not None)


def _series(id: str, runs: Sequence[_Run], cleaned: datetime | None) -> Series | None:
    told = [run for run in runs if id in run.by_id and MEASUREMENTS[id].instead not in run.by_id]
    if not told:
        return None
    newest = told[-1].by_id[id]
    key = _key(newest)
    points, left = [], []
    for run in told:
        one = run.by_id[id]
        if _key(one) == key:
            points.append(_point(one, run))
        else:
            left.append(f"{one.at:%Y-%m-%d}: {_same(one) or 'load not recorded'}")
    at_20 = all(_brought(run, id) for run in told if run.by_id[id].run in {one.run for one in points})
    limit = next((one for run in reversed(told) if (one := run.by_id[id]).limit), newest)
    return Series(
        id=id,
        title=MEASUREMENTS[id].title + (" at 20 degC" if at_20 else ""),
        unit=newest.unit,
        same=_same(newest),
        points=tuple(points),
        limit=limit.limit,
        limit_source=limit.limit_source,
        low=limit.low,
        high=limit.high,
        left_out=tuple(left),
        at_20=at_20 or MEASUREMENTS[id].at_20,
        fresh=_fresh(id, points, cleaned),
    )


def _fresh(id: str, points: Sequence[Point], cleaned: datetime | None) -> int:
    """Place of the first reading of a contact since it was cleaned; 0 when it never was, or not tested since."""
    if cleaned is None or not MEASUREMENTS[id].cleaned:
        return 0
    before = sum(point.at < cleaned for point in points)
    return before if before < len(points) else 0


def _code(one: Measured, name: ConditionName) -> str:
    """What must be the same of a condition, "" where it has none."""
    found = condition(name, one.conditions)
    return (found.code or found.text) if found else ""


def _key(one: Measured) -> tuple[object, ...]:
    """What must agree. Coil ohms are measured at whatever volts the probe needs, and say the same at any."""
    if one.unit == "ohm" and not _code(one, ConditionName.LOAD):
        return ()
    volts = _volts(one)
    others = (ConditionName.CLAMP, ConditionName.ENDS_AT, ConditionName.LOAD)
    return (round(volts / VOLTS_STEP) if volts else None, *(_code(one, name) for name in others))


def _same(one: Measured) -> str:
    names = (*SAME, ConditionName.LOAD) if _key(one) else ()
    return ", ".join(f"{name} {found.text}" for name in names if (found := condition(name, one.conditions)))


def _volts(one: Measured) -> float | None:
    """The coil's volts; None where the reading is no number."""
    found = condition(ConditionName.COIL_VOLTAGE, one.conditions)
    return found.value if found else None


def _point(one: Measured, run: _Run) -> Point:
    value, expanded = _at_20(one, run)
    room = condition(ConditionName.BENCH_TEMPERATURE, one.conditions)
    return Point(
        run=one.run,
        at=one.at,
        value=value,
        expanded=expanded,
        measured=one.number,
        outcome=one.outcome,
        celsius=room.value if room else None,
    )


def _brought(run: _Run, id: str) -> bool:
    """Whether this run has what it takes to bring a measurement to 20 degC."""
    warmth = MEASUREMENTS[id].warmth
    needed = {"coil_resistance", "coil_resistance_20c"} | ({"pull_in_voltage"} if warmth == "time" else set())
    return bool(warmth) and needed <= set(run.by_id) and run.by_id["coil_resistance"].number > 0


def _at_20(one: Measured, run: _Run) -> tuple[float, float]:
    """Value and expanded uncertainty at 20 degC, by the ohms of the same run where it has them."""
    value, expanded = one.number, one.expanded
    if not _brought(run, one.id):
        return value, expanded
    share = run.by_id["coil_resistance_20c"].number / run.by_id["coil_resistance"].number
    if MEASUREMENTS[one.id].warmth == "volts":  # the armature feels amps, so volts follow the winding's ohms
        return value * share, math.hypot(expanded * share, WARMTH_SHARE * value)
    by = _slowing(one, run) * (share - 1)
    return value * (1 + by), math.hypot(expanded, SLOWED_DOUBT * by * value)


def _slowing(one: Measured, run: _Run) -> float:
    """Share by which a time grows when the winding's ohms grow by one share.

    A coil reaches its pull-in current after t = L/R ln(1 / (1 - x)), x = pull-in volts over coil volts; both 1/R and x
    move with R. 0.4 at twice the pull-in volts, 0 where the volts are unknown or too low.
    """
    volts = _volts(one) or 0.0
    x = run.by_id["pull_in_voltage"].number / volts if volts else 0.0
    return x / (1 - x) / -math.log(1 - x) - 1 if 0 < x < 1 else 0.0
