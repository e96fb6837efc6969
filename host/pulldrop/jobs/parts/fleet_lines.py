"""The fleet of many parts, from the store's working sums: a straight line a figure instead of whole histories.

Rule: every list is cut to MOST, and says how many more there are.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from heapq import nsmallest
from itertools import takewhile

from pulldrop.judge.history.fleet import LEAST_ROOM, SOON_YEARS, age_left, age_years, why_due
from pulldrop.judge.history.siblings import OUTSIDE
from pulldrop.judge.history.trend import capability
from pulldrop.judge.history.wear import LEAST
from pulldrop.model.history.fleet import Capability, Due, Fleet, Group, Outlier
from pulldrop.model.history.history import YEAR_S
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.event import PartEvent, place_of
from pulldrop.model.quantity import show
from pulldrop.model.wording import words
from pulldrop.store import Store
from pulldrop.store.views.fleet_sums import FleetSums, Kind, Line, Odd, years_at

MOST = 50
"""So long is each list at most; of groups, each grouping."""
GROUPINGS = ("type", "donor", "kind, position")
"""As a part is described in short, in this order; cards are not read."""
LONG_YEARS = 1000.0


def of_lines(store: Store, simulated: bool, every_months: float, now: datetime) -> Fleet:
    """The fleet of all simulated parts, or of all real ones."""
    old = now - timedelta(seconds=min(every_months / 12, LONG_YEARS) * YEAR_S)
    sums = store.fleet_sums(simulated, old, LEAST, OUTSIDE, MOST)
    groups = _groups(sums)
    due, due_count = _due(store, sums, simulated, every_months, now)
    capabilities = sorted(_capabilities(sums.kinds), key=lambda one: one.cpk)
    counts = {**{by: len(of) for by, of in groups.items()}, "due": due_count, "outliers": sums.odd_count,
              "capabilities": len(capabilities)}  # fmt: skip
    return Fleet(
        simulated=simulated,
        now=now,
        parts=sum(sums.parts.values()),
        every_months=every_months,
        rests_on="straight lines",
        groups=tuple(one for of in groups.values() for one in of[:MOST]),
        due=due,
        outliers=tuple(map(_outlier, sums.odd)),
        capabilities=tuple(capabilities[:MOST]),
        left_out={name: count - MOST for name, count in counts.items() if count > MOST},
    )


@dataclass(slots=True)
class _Tally:
    """A group as it is counted."""

    parts: int = 0
    share: float = 0.0
    led: dict[str, int] = field(default_factory=dict)


def _groups(sums: FleetSums) -> dict[str, list[Group]]:
    """By grouping, the fastest wearing first; a part counts by the line that comes nearest its limit a year."""
    worst: dict[str, Line] = {}
    for line in sums.lines:
        known = worst.get(line[0])
        if known is None or _share(line) > _share(known):
            worst[line[0]] = line
    tallies: dict[str, dict[str, _Tally]] = {by: {} for by in GROUPINGS}
    for described, count in sums.parts.items():
        for by, name in zip(GROUPINGS, described, strict=True):
            tallies[by].setdefault(name, _Tally()).parts += count
    alike: dict[tuple[str, ...], list[float]] = {}
    for line in worst.values():
        alike.setdefault(line[5:] + line[1:2], []).append(_share(line))
    for (*names, id), shares in alike.items():
        for by, name in zip(GROUPINGS, names, strict=True):
            of = tallies[by][name]
            of.share += sum(shares)
            of.led[id] = of.led.get(id, 0) + len(shares)
    return {
        by: sorted(
            (_group(by, name, one) for name, one in of.items()),
            key=lambda one: (-one.share_a_year, -one.wearing, one.name),
        )
        for by, of in tallies.items()
    }


def _share(line: Line) -> float:
    return line[2] if line[2] is not None and line[2] > 0 else 1.0


def _group(by: str, name: str, of: _Tally) -> Group:
    return Group(
        grouping=by,
        name=name or "not recorded",
        parts=of.parts,
        wearing=sum(of.led.values()),
        share_a_year=of.share / of.parts,
        by=MEASUREMENTS[max(of.led, key=of.led.__getitem__)].title if of.led else "",
    )


def _due(
    store: Store, sums: FleetSums, simulated: bool, every_months: float, now: datetime
) -> tuple[tuple[Due, ...], int]:
    """The soonest MOST, and how many there are."""
    here = years_at(now)
    near = tuple(takewhile(lambda line: line[3] <= here + SOON_YEARS, sums.lines))
    scrapped = store.scrapped()
    due = (sums.late.keys() | {line[0] for line in near}) - scrapped
    soonest: dict[str, float] = {}
    for line in sums.lines:
        if line[0] in due:
            soonest.setdefault(line[0], line[3])
    lined = ((max(at - here, 0.0), part) for part, at in soonest.items())
    rest = due - soonest.keys()
    oldest = nsmallest(MOST, ((started, part) for part, started in sums.late.items() if part in rest))
    aged = ((age_left(age_years(datetime.fromisoformat(started), now), every_months), part) for started, part in oldest)
    first = nsmallest(MOST, (*lined, *aged))
    return tuple(_told(store, near, first, simulated, every_months, now)), len(due)


def _told(
    store: Store,
    near: Iterable[Line],
    first: Sequence[tuple[float, str]],
    simulated: bool,
    every_months: float,
    now: datetime,
) -> Iterable[Due]:
    """Those that are listed, with what is known of each; `near` are the lines that meet a limit soon."""
    lines: dict[str, list[Line]] = {part: [] for _, part in first}
    events: dict[str, list[PartEvent]] = {part: [] for _, part in first}
    for line in near:
        if line[0] in lines:
            lines[line[0]].append(line)
    for event in store.events_of(events.keys()):
        events[event.part].append(event)
    last = {line.part.id: line.last for line in store.tested(simulated, lines.keys())}
    for soon, part in first:
        run = last[part]
        assert run is not None
        where, came = place_of(events[part])
        yield Due(
            part=part,
            place=words.marked(came, where),
            last=run.started,
            soonest=min(soon, 99.0),
            reasons=why_due(run.overall, _met(lines[part], now), age_years(run.started, now), every_months),
        )


def _met(lines: Iterable[Line], now: datetime) -> Iterable[str]:
    """When each line crosses its limit, in words."""
    for _, id, _, at, read, *_ in lines:
        left = at - years_at(now)
        met = f"crosses the limit {f'in about {left * 12:.0f} months' if left > 1 / 12 else 'now'}"
        yield f"{MEASUREMENTS[id].title}: {'beyond its limit' if at == read else f'its straight line {met}'}"


def _outlier(odd: Odd) -> Outlier:
    kind, of = odd.kind, MEASUREMENTS[odd.kind.id]
    return Outlier(
        part=odd.part,
        type=kind.rating,
        measurement=kind.id,
        value=odd.last,
        usual=kind.mean,
        score=odd.score,
        siblings=kind.parts,
        says=f"{of.title} {show(odd.last, of.unit, odd.u)}, where the mean of all {kind.parts} of its type is"
        f" {show(kind.mean, of.unit)}",
    )


def _capabilities(kinds: Iterable[Kind]) -> Iterable[Capability]:
    for kind in kinds:
        cpk = capability(kind.mean, kind.sd, kind.low, kind.high) if kind.parts >= LEAST_ROOM else None
        if cpk is not None:
            title = MEASUREMENTS[kind.id].title
            yield Capability(type=kind.rating, measurement=kind.id, title=title, parts=kind.parts, cpk=cpk)
