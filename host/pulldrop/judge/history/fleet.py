"""The whole fleet at a glance: what wears fastest, what is due, which parts stand outside their siblings.

Rule: it rests on the healths of the parts and adds no judgement of its own but the comparison among siblings.
"""

import statistics
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime

from pulldrop.judge.history.siblings import apart
from pulldrop.judge.history.trend import capability, level
from pulldrop.judge.history.wear import over, share_a_year, span
from pulldrop.model.history.fleet import Capability, Due, Fleet, Group, Outlier
from pulldrop.model.history.history import YEAR_S, Health, SeriesHealth
from pulldrop.model.quantity import show
from pulldrop.model.verdict import Overall
from pulldrop.model.wording import words

SOON_YEARS = 0.5
"""A part whose limit may be met within this time is due, whenever it was tested."""
GROUPINGS: dict[str, Callable[[Health], str]] = {
    "type": lambda one: one.type,
    "position": lambda one: one.card.position,
    "donor": lambda one: one.card.donor,
}
LEAST_ROOM = 5


def fleet(healths: Sequence[Health], every_months: float, now: datetime, scrapped: Collection[str] = ()) -> Fleet:
    """Of parts that were all simulated, or all real; those that were scrapped are never due."""
    kept = [one for one in healths if one.part not in scrapped]
    return Fleet(
        simulated=any(one.simulated for one in healths),
        now=now,
        parts=len(healths),
        every_months=every_months,
        groups=tuple(group for by in GROUPINGS for group in _groups(by, healths)),
        due=tuple(sorted(_due(kept, every_months, now), key=lambda one: (one.soonest, one.part))),
        outliers=tuple(_outliers(healths)),
        capabilities=tuple(_capabilities(healths)),
    )


def _by(grouping: str, healths: Iterable[Health]) -> dict[str, list[Health]]:
    found: dict[str, list[Health]] = {}
    for one in healths:
        found.setdefault(GROUPINGS[grouping](one) or "not recorded", []).append(one)
    return found


def _groups(grouping: str, healths: Sequence[Health]) -> list[Group]:
    """The groups of one kind, the fastest wearing first."""
    made = [_group(grouping, name, of) for name, of in _by(grouping, healths).items()]
    return sorted(made, key=lambda one: (-one.share_a_year, -one.wearing, one.name))


def _group(grouping: str, name: str, of: Sequence[Health]) -> Group:
    """A part wears as fast as the measurement that eats its way to a limit fastest; a group as its mean part."""
    worst = [max(one.findings, key=share_a_year, default=None) for one in of]
    shares = [share_a_year(one) if one else 0.0 for one in worst]
    titles = [one.series.title for one in worst if one and share_a_year(one) > 0]
    return Group(
        grouping=grouping,
        name=name,
        parts=len(of),
        wearing=len(titles),
        share_a_year=statistics.fmean(shares),
        by=statistics.mode(titles) if titles else "",
    )


def _due(healths: Iterable[Health], every_months: float, now: datetime) -> Iterable[Due]:
    for one in healths:
        age = age_years(one.runs[-1].at, now)
        soonest = min((f.forecast.earliest for f in one.findings if f.forecast), default=None)
        met = [
            f"{f.series.title}: "
            + ("beyond its limit" if f.forecast.beyond else f"will {over(f)} its limit {span(f.forecast)}")
            for f in one.findings
            if f.forecast and f.forecast.earliest <= SOON_YEARS
        ]
        reasons = why_due(one.runs[-1].overall, met, age, every_months)
        if reasons:
            yield Due(
                part=one.part,
                place=words.marked(one.place_came, one.place),
                last=one.runs[-1].at,
                soonest=min(soonest if soonest is not None else age_left(age, every_months), 99.0),
                reasons=reasons,
            )


def why_due(overall: Overall | None, met: Iterable[str], age: float, every_months: float) -> tuple[str, ...]:
    """In words, from a part's last run, the limits that it meets soon, and the years since; empty when it is not."""
    no_pass = () if overall is Overall.PASS else (f"the last run was no pass: {overall}",)
    aged = (f"last tested {age * 12:.0f} months ago",) if age * 12 >= every_months else ()
    return (*no_pass, *met, *aged)


def age_years(last: datetime, now: datetime) -> float:
    """Years since the last test."""
    return (now - last).total_seconds() / YEAR_S


def age_left(age: float, every_months: float) -> float:
    """Years until a part is due by its age alone; below zero when it is overdue."""
    return every_months / 12 - age


def _newest(healths: Iterable[Health]) -> dict[str, list[tuple[Health, SeriesHealth]]]:
    """By measurement: every part that has it."""
    found: dict[str, list[tuple[Health, SeriesHealth]]] = {}
    for one in healths:
        for seen in one.findings:
            found.setdefault(seen.series.id, []).append((one, seen))
    return found


def _outliers(healths: Sequence[Health]) -> list[Outlier]:
    """Parts outside their siblings of one type by their last readings, the farthest first."""
    found = []
    for name, of in _by("type", healths).items():
        for seen in _newest(of).values():
            series = seen[0][1].series
            values = {one.part: _last(f) for one, f in seen}
            for odd in apart(values):
                found.append(
                    Outlier(
                        part=odd.part,
                        type=name,
                        measurement=series.id,
                        value=odd.value,
                        usual=odd.median,
                        score=odd.score,
                        siblings=len(values),
                        says=f"{series.title} {show(odd.value, series.unit, 2 * values[odd.part][1])}, where its"
                        f" {len(values) - 1} siblings have {show(odd.median, series.unit)}",
                    )
                )
    return sorted(found, key=lambda one: -abs(one.score))


def _last(found: SeriesHealth) -> tuple[float, float]:
    point = found.series.points[-1]
    return point.value, point.expanded / 2


def _capabilities(healths: Sequence[Health]) -> list[Capability]:
    """How much room the parts of a type leave to each limit: Cpk of their last readings, the tightest first."""
    found = []
    for name, of in _by("type", healths).items():
        for id, seen in _newest(of).items():
            series = seen[0][1].series
            if len(seen) < LEAST_ROOM:
                continue
            lot = level([_last(f)[0] for _, f in seen])
            cpk = capability(lot.mean, lot.sd, series.low, series.high)
            if cpk is not None:
                found.append(Capability(type=name, measurement=id, title=series.title, parts=len(seen), cpk=cpk))
    return sorted(found, key=lambda one: one.cpk)
