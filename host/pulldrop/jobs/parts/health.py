"""A part's health: all its runs to series, what each shows, and the worst of it in plain words."""

from collections.abc import Iterable
from datetime import datetime

from pulldrop.jobs.parts import numbers
from pulldrop.jobs.parts.keep import resolve, view
from pulldrop.judge.history.comparable import series_of
from pulldrop.judge.history.wear import LEAST, finding, moved_says, moved_towards_limit, share_a_year
from pulldrop.model.history.history import Health, Measured, RunMark, SeriesHealth
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.origin import least_known
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.kinds import how_to_test
from pulldrop.model.part.parts_page import PartView
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.short import short_result
from pulldrop.model.verdict import SAYS_NOTHING, Outcome, Overall
from pulldrop.store import NotKept, Store
from pulldrop.store.errors import damaged
from pulldrop.store.views.overview import History

MOST_SAID = 3
LEAST_DRIFT_K = 0.8
"""A minute: a winding 4 K off the bench that comes to it in five minutes (assumed)."""


def health(store: Store, text: str, now: datetime) -> Health:
    """Health of the part that `text` names. Raises NotKept."""
    one = view(store, store.part(resolve(store, text)))
    part = one.part.id
    if one.last is None:
        raise NotKept(f"The part {part} was never tested, so it has no history. {how_to_test(one.part)}")
    return of_part(store, one, now)


def of_part(store: Store, one: PartView, now: datetime) -> Health:
    """Health of a tested part, with what its last run named."""
    history = store.history(one.part.id)
    found = of_history(one, history, store.part_events(one.part.id), now)
    last, failed = store.record(found.runs[-1].run), tuple(_failed(history))
    says = (*failed, *_named(last), *_numbered(store, one), *found.says[len(failed) :])
    return found.model_copy(update={"says": says})


def of_history(one: PartView, history: History, events: tuple[PartEvent, ...], now: datetime) -> Health:
    """Health of a tested part, from everything that the store holds. Raises StoreTrouble."""
    if not history.runs:
        raise damaged("", f"the history of {one.part.id}", ValueError("a run is counted, and there is none"))
    cleaned = max((event.at for event in events if event.kind is PartEventKind.CLEANED), default=None)
    found = [finding(series, now) for series in series_of(measured(history), cleaned)]
    worst_first = sorted(found, key=_rank)
    return Health(
        part=one.part.id,
        kind=str(one.part),
        type=one.card.sheet or history.runs[-1].rating,
        simulated=one.simulated,
        came=least_known(run.origin for run in history.runs),
        now=now,
        card=one.card,
        place=one.place,
        card_came=one.card_came,
        place_came=one.place_came,
        runs=tuple(
            RunMark(
                run=run.run,
                at=run.started,
                overall=run.overall,
                protocol=run.protocol,
                mark=run.mark,
                origin=run.origin,
            )
            for run in history.runs
        ),
        events=events,
        findings=tuple(worst_first),
        says=(*_failed(history), *_not_at_rest(history), *_says(worst_first)),
    )


def untested(one: PartView, events: tuple[PartEvent, ...], now: datetime) -> Health:
    """Health of a part without a run: its card, and that nothing was measured."""
    says = f"Never tested. {how_to_test(one.part)}"
    return Health(
        part=one.part.id, kind=str(one.part), type=one.card.sheet, simulated=one.simulated, now=now, card=one.card,
        place=one.place, card_came=one.card_came, place_came=one.place_came, runs=(),
        events=events, findings=(), says=(says,),
    )  # fmt: skip


def measured(history: History) -> tuple[Measured, ...]:
    """Every number of runs that say something about the part."""
    said = {run.run for run in history.runs if run.overall not in SAYS_NOTHING}
    return tuple(one for one in history.points if one.run in said and one.value is not None)


def _rank(found: SeriesHealth) -> tuple[float, ...]:
    """The worst first: what failed; then the sooner a limit is met, the quicker the wear; then what came nearer to
    one; then trends."""
    ahead, failed = found.forecast, found.series.points[-1].outcome is Outcome.FAIL
    moving = found.trend.way in ("rising", "falling")
    return (
        not failed,
        0.0 if found.worse else 1.0 if moved_towards_limit(found) else 2.0 if moving else 3.0,
        ahead.earliest if ahead else 1e3,
        -share_a_year(found),
    )


def _failed(history: History) -> Iterable[str]:
    """What the last run failed in, which a trend may not show: it came at once, or is more than the bench measures."""
    last = history.runs[-1].run
    failed = [MEASUREMENTS[one.id].title for one in history.points if one.run == last and one.outcome is Outcome.FAIL]
    if failed:
        yield f"The last run failed in: {', '.join(failed)}."


def _numbered(store: Store, one: PartView) -> Iterable[str]:
    """What a crate wrote on it, and where it put it."""
    told = [f"{at} ({at.placed.bin})" for at in numbers.of_parts(store, {one.part.id}).get(one.part.id, ())]
    if told:
        yield f"Crate and number: {', '.join(told)}."


def _named(record: RunRecord) -> Iterable[str]:
    """Cause and next step of the last run, as they stood on its own screen; a pass has no need of them."""
    if record.verdict.overall is Overall.PASS:
        return
    short = short_result(record, new=False)
    yield from (f"{about.capitalize()}: {text.rstrip('.')}." for about, text in short.said if about != "why")
    yield f"Next: {short.next[0]}"


def _not_at_rest(history: History) -> Iterable[str]:
    """Whether the winding was not as warm as the bench in the last run that looked."""
    drifts = [one for one in history.points if one.id == "winding_drift" and one.value is not None]
    if drifts and abs(drifts[-1].number) > max(drifts[-1].expanded, LEAST_DRIFT_K):
        way = "warmed" if drifts[-1].number > 0 else "cooled"
        yield (
            f"On {drifts[-1].at:%d %B %Y} its winding {way} by {abs(drifts[-1].number):.1f} K a minute at rest: it was"
            " not as warm as the bench, so coil resistance, pull-in and drop-out of that run are off. Let it lie for an"
            " hour and test it again."
        )


def _says(found: list[SeriesHealth]) -> Iterable[str]:
    """The few sentences that matter: wear, else that there is none."""
    worse = [one for one in found if one.worse]
    yield from (one.says for one in worse[:MOST_SAID])
    if len(worse) > MOST_SAID:
        more = len(worse) - MOST_SAID
        yield (
            "1 more measurement moves towards its limit; the table has it."
            if more == 1
            else f"{more} more measurements move towards their limits; the table has them."
        )
    moved = [one for one in found if not one.worse and moved_towards_limit(one)]
    yield from (moved_says(one) for one in moved[:MOST_SAID])
    outside = [one.series.title for one in found if not one.worse and one not in moved and _out_now(one)]
    if outside:
        yield f"Outside the part's own usual range, without a trend towards a limit: {', '.join(outside)}."
    if not worse and not moved:
        few = all(one.trend.way == "few" for one in found)
        most = max((one.trend.readings for one in found), default=0)
        yield (
            f"Nothing can be said about wear yet: {most} comparable run{'' if most == 1 else 's'}, and {LEAST} are"
            " needed for a trend."
            if few
            else "No measurement moves towards its limit by more than its uncertainty."
        )


def _out_now(found: SeriesHealth) -> bool:
    """Whether the last reading still stands outside."""
    return bool(found.chart and found.chart.outside and found.chart.outside[-1] == len(found.series.points) - 1)
