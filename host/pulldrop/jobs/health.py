"""A part's health: all its runs to series, what each shows, and the worst of it in plain words."""

from collections.abc import Iterable
from datetime import datetime

from pulldrop.jobs.parts import PartView, resolve, view
from pulldrop.judge.comparable import series_of
from pulldrop.judge.wear import finding, share_a_year
from pulldrop.model.history import Finding, Health, Measured, RunMark
from pulldrop.model.part_event import PartEvent
from pulldrop.model.reading import Reading
from pulldrop.model.record import RunRecord
from pulldrop.model.verdict import Judged, Overall
from pulldrop.store import NotKept, Store

SAYS_NOTHING = (Overall.INTERRUPTED, Overall.BENCH_TROUBLE)
"""Runs whose readings are shown with the run and are compared with nothing: the bench or a hand came between."""
MOST_SAID = 3


def health(store: Store, text: str, now: datetime) -> Health:
    """Of the part that `text` names. Raises NotKept."""
    part = resolve(store, text)
    lines = store.runs(part)
    if not lines:
        raise NotKept(f"The part {part} was never tested, so it has no history. Test it: pulldrop test --part {part}")
    records = [store.record(line.run) for line in lines]
    return of_records(view(store, store.part(part)), records, store.part_events(part), now)


def of_records(one: PartView, records: Iterable[RunRecord], events: tuple[PartEvent, ...], now: datetime) -> Health:
    """Of what the store holds of one part."""
    records = tuple(records)
    found = [finding(series) for series in series_of(measured(records))]
    worst_first = sorted(found, key=_rank)
    return Health(
        part=one.line.part.id,
        type=one.card.sheet or one.card.kind or records[-1].plan.rating.rating,
        simulated=one.line.simulated,
        now=now,
        card=one.card,
        place=one.place,
        runs=tuple(
            RunMark(run=r.run, at=r.started, overall=r.verdict.overall, protocol=r.plan.protocol) for r in records
        ),
        events=events,
        findings=tuple(worst_first),
        says=tuple(_says(worst_first)),
    )


def measured(records: Iterable[RunRecord]) -> tuple[Measured, ...]:
    """Every number of runs that say something about the part."""
    said = (record for record in records if record.verdict.overall not in SAYS_NOTHING)
    return tuple(one for record in said for judged in record.judged if (one := _measured(record, judged)))


def _measured(record: RunRecord, judged: Judged) -> Measured | None:
    found, limit = judged.finding, judged.limit
    if not isinstance(found, Reading) or found.value is None or found.bound != "=":
        return None
    return Measured(
        run=record.run,
        at=record.started,
        id=judged.id,
        value=found.value,
        expanded=found.expanded_uncertainty,
        unit=found.unit,
        outcome=judged.outcome,
        conditions=found.conditions,
        limit=limit.text if limit else "",
        limit_source=f"{limit.source.known}: {limit.source.text}" if limit else "",
        low=limit.low if limit else None,
        high=limit.high if limit else None,
    )


def _rank(found: Finding) -> tuple[float, ...]:
    """The worst first: the sooner a limit is met, the quicker the wear, then whatever moved."""
    ahead = found.forecast
    return (
        0.0 if found.worse else 1.0 if found.trend.way in ("rising", "falling") else 2.0,
        ahead.earliest if ahead else 1e3,
        -share_a_year(found),
        0.0 if found.last_change and found.last_change.called else 1.0,
    )


def _says(found: list[Finding]) -> Iterable[str]:
    """The few sentences that matter: wear, else that there is none."""
    worse = [one for one in found if one.worse]
    yield from (one.says for one in worse[:MOST_SAID])
    if len(worse) > MOST_SAID:
        yield f"{len(worse) - MOST_SAID} more measurements move towards their limits; the table has them."
    outside = [one.series.title for one in found if not one.worse and one.chart and _out_now(one)]
    if outside:
        yield f"Outside the part's own usual range, without a trend towards a limit: {', '.join(outside)}."
    if not worse:
        few = all(one.trend.way == "few" for one in found)
        most = max((one.trend.readings for one in found), default=0)
        yield (
            f"Nothing can be said of wear yet: {most} comparable runs, and 6 are needed for a trend."
            if few
            else "No measurement moves towards its limit beyond what the uncertainty could make."
        )


def _out_now(found: Finding) -> bool:
    """Whether the last reading still stands outside."""
    return bool(found.chart and found.chart.outside and found.chart.outside[-1] == len(found.series.points) - 1)
