"""What a series of readings says of the part: trend, change, own usual range, when it meets its limit, in one sentence.

Rule: nothing is called that the uncertainty could have made. A trend needs Mann-Kendall's test at 1 % and a slope whose
interval, the readings' uncertainty in it, leaves zero out; a change must exceed both uncertainties.
"""

import math
import statistics
from collections.abc import Sequence
from datetime import datetime
from typing import Literal

from pulldrop.judge.history import trend as arithmetic
from pulldrop.model.history.history import (
    YEAR_S,
    Change,
    Chart,
    Forecast,
    Point,
    Series,
    SeriesHealth,
    Trend,
    years,
)
from pulldrop.model.quantity import show

ALPHA = 0.01
"""A part has a dozen series: at 5 % every second sound part would be said to wear."""
LEAST = 6
"""Fewer readings cannot reach 1 %: five rising ones happen by chance once in 60, either way."""
BASE_LEAST, BASE_MOST = 3, 8
MATTERS = 0.05
"""Without a trend, less than this share of the way to the limit stands in the table only (assumed)."""
WARMER_K = 4.0
"""Temperature difference, K, from which an uncorrected change is flagged."""
FAR_YEARS = 15.0
"""A limit met later than this is not forecast."""


def finding(series: Series, now: datetime | None = None) -> SeriesHealth:
    """Everything about one series, compared with itself since it was cleaned; forecasts from `now`, else from its last
    reading."""
    since = series.model_copy(update={"points": series.points[series.fresh :], "fresh": 0})
    points = since.points
    found = trend(points)
    last = change(points[-2], points[-1], series.at_20) if len(points) > 1 else None
    made = SeriesHealth(
        series=series,
        trend=found,
        last_change=last,
        whole_change=change(points[0], points[-1], series.at_20) if len(points) > 2 else last,
        chart=chart(points, series.fresh),
        forecast=forecast(since, found, now or points[-1].at),
        worse=found.way in ("rising", "falling") and _ahead(series, found.per_year) is not None,
        says="",
    )
    return made.model_copy(update={"says": sentence(made)})


def trend(points: Sequence[Point]) -> Trend:
    """Of one series."""
    if len(points) < LEAST or len({one.at for one in points}) < LEAST:
        return Trend(way="few", readings=len(points))
    x, y = years(points), [one.value for one in points]
    test = arithmetic.mann_kendall(y)
    u = arithmetic.slope_uncertainty(x, [one.expanded / 2 for one in points])
    slope = arithmetic.inflated(arithmetic.theil_sen(x, y), u)
    sure = test.p <= ALPHA and slope.low * slope.high > 0
    way: Literal["rising", "falling", "none"] = "none" if not sure else "rising" if slope.value > 0 else "falling"
    return Trend(way=way, readings=len(points), per_year=slope.value, low=slope.low, high=slope.high, p=test.p)


def change(before: Point, after: Point, at_20: bool) -> Change:
    """From one reading to a later one."""
    told = not at_20 and before.celsius is not None and after.celsius is not None
    return Change(
        since=before.at,
        warmer_k=(after.celsius or 0.0) - (before.celsius or 0.0) if told else 0.0,
        by=after.value - before.value,
        expanded=math.hypot(before.expanded, after.expanded),
        called=arithmetic.changed(before.value, before.expanded, after.value, after.expanded),
    )


def chart(points: Sequence[Point], start: int = 0) -> Chart | None:
    """Control chart against the first third of the readings; None where nothing comes after them."""
    base = min(max(BASE_LEAST, len(points) // 3), BASE_MOST)
    if len(points) <= base:
        return None
    values = [one.value for one in points]
    centre = arithmetic.level(values[:base]).mean
    own = statistics.median(one.expanded / 2 for one in points)
    # few readings may agree by chance, so the scatter is that of all steps, and never finer than the bench
    sigma = max(arithmetic.scatter(values), own)
    seen = arithmetic.ewma(values[base:], centre, sigma, centre_u=sigma / math.sqrt(base))
    outside = tuple(
        place for place, one in enumerate(seen.smoothed, start + base) if not seen.lower <= one <= seen.upper
    )
    return Chart(
        start=start,
        base=base,
        centre=centre,
        lower=seen.lower,
        upper=seen.upper,
        smoothed=seen.smoothed,
        outside=outside,
    )


def forecast(series: Series, found: Trend, now: datetime) -> Forecast | None:
    """When the limit ahead is met; None without a trend, without a limit ahead, or when that is far away.

    The line runs with the median slope through the median reading; it is as uncertain there as the scatter about a
    straight line, and the readings themselves, leave it.
    """
    limit = _ahead(series, found.per_year)
    if found.way not in ("rising", "falling") or limit is None:
        return None
    x, y = years(series.points), [one.value for one in series.points]
    left = arithmetic.line(x, y).residual / math.sqrt(len(x))
    own = statistics.median(one.expanded / 2 for one in series.points)
    middle, here = statistics.median(x), statistics.median(
        b - found.per_year * a for a, b in zip(x, y, strict=True)
    )  # fmt: skip
    level = here + found.per_year * middle
    sign = 1.0 if found.per_year > 0 else -1.0
    room, doubt = sign * (limit - level), 2 * math.hypot(left, own)
    steep, flat = sorted((sign * found.low, sign * found.high), reverse=True)
    begun = middle - (now - series.points[-1].at).total_seconds() / YEAR_S
    earliest, latest = begun + (room - doubt) / steep, begun + (room + doubt) / flat
    if sign * (series.points[-1].value - limit) >= 0:
        return Forecast(earliest=0.0, latest=0.0, beyond=True)
    if earliest > FAR_YEARS:
        return None
    return Forecast(earliest=max(earliest, 0.0), latest=max(latest, 0.0) if latest <= FAR_YEARS else None)


def _ahead(series: Series, slope: float) -> float | None:
    """The limit towards which a slope leads."""
    return series.high if slope > 0 else series.low if slope < 0 else None


def share_a_year(found: SeriesHealth) -> float:
    """Which share of the way from its first readings to its limit the part wears off in a year; 0 without a trend."""
    limit = _ahead(found.series, found.trend.per_year)
    if not found.worse or limit is None:
        return 0.0
    start = statistics.fmean(one.value for one in found.series.points[found.series.fresh :][:BASE_LEAST])
    room = limit - start
    return found.trend.per_year / room if room * found.trend.per_year > 0 else 1.0


def sentence(found: SeriesHealth) -> str:
    """What the series says, in plain words."""
    series, points = found.series, found.series.points[found.series.fresh :]
    since = f"since {'it was cleaned in ' if series.fresh else ''}{_month(points[0].at)}"
    if len(points) == 1:
        return f"{series.title}: one reading {since}, so nothing to compare."
    if found.trend.way == "few":
        return (
            f"{series.title}: {_changes(found)}; {len(points)} readings {since} are too few for a trend ({LEAST} are"
            " needed)."
        )
    if found.trend.way == "none":
        return f"{series.title}: no trend in {len(points)} readings {since}; {_changes(found)}."
    by = found.trend.moved(series.unit, -years(points)[0])
    moved = f"has {'risen' if found.trend.way == 'rising' else 'fallen'} {by}"
    return f"{series.title} {moved} {since}; {_when(found)}."


def moved_towards_limit(found: SeriesHealth) -> bool:
    """Whether it came nearer to a limit by more than both uncertainties, not by the warmth of the room, and so far
    that it matters."""
    whole = found.whole_change
    if whole is None or not whole.called or abs(whole.warmer_k) >= WARMER_K:
        return False
    limit = _ahead(found.series, whole.by)
    return limit is not None and abs(whole.by) >= MATTERS * abs(limit - found.series.points[found.series.fresh].value)


def moved_says(found: SeriesHealth) -> str:
    """Of one that moved towards its limit, and has no trend."""
    whole, points = found.whole_change, found.series.points[found.series.fresh :]
    assert whole is not None
    by = show(abs(whole.by), found.series.unit, whole.expanded)
    cleaned = ", since it was cleaned" if found.series.fresh else ""
    why = f"{len(points)} readings are too few for a trend" if found.trend.way == "few" else "that is no steady trend"
    first, last = _month(points[0].at), _month(points[-1].at)
    when = f"within {first}" if first == last else f"from {first} to {last}"
    moved = f"{'rose' if whole.by > 0 else 'fell'} {by} {when}{cleaned}"
    return f"{found.series.title} {moved}, towards its limit ({found.series.limit}); {why}."


def _changes(found: SeriesHealth) -> str:
    last = found.last_change
    if last is None or not last.called:
        return "the last two do not differ beyond their uncertainty"
    word = "rose" if last.by > 0 else "fell"
    said = f"it {word} {show(abs(last.by), found.series.unit, last.expanded)} from the run before to the last one"
    if abs(last.warmer_k) < WARMER_K:
        return said
    return f"{said}, in a room {abs(last.warmer_k):.0f} K {'warmer' if last.warmer_k > 0 else 'colder'}"


def _when(found: SeriesHealth) -> str:
    """What becomes of it at this rate."""
    ahead, limit = found.forecast, found.series.limit.partition(" (")[0]
    if not found.worse:
        return "no limit lies that way"
    if ahead is None:
        return f"at this rate its limit ({limit}) is more than {FAR_YEARS:.0f} years away"
    if ahead.beyond:
        return f"it is beyond its limit ({limit})"
    return f"at this rate it will {over(found)} its limit ({limit}) {span(ahead)}"


def over(found: SeriesHealth) -> str:
    """What a worsening series does to its limit in the end: a limit that is met is no news."""
    return "exceed" if found.trend.per_year > 0 else "fall below"


def span(ahead: Forecast) -> str:
    """`in 14 to 30 months`, `in 3 to 9 years`, `in 14 months at the earliest`, `within 9 months`, `by today`."""
    if ahead.latest == 0:
        return "by today"
    unit, scale = ("months", 12) if ahead.earliest < 3 else ("years", 1)
    early = math.floor(ahead.earliest * scale)
    if ahead.latest is None:
        return f"in {early} {unit} at the earliest" if early else "at any time"
    late = max(math.ceil(ahead.latest * scale), early + 1)
    return f"in {early} to {late} {unit}" if early else f"within {late} {unit if late > 1 else unit[:-1]}"


def _month(at: datetime) -> str:
    return f"{at:%B %Y}"
