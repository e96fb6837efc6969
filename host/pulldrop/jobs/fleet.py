"""The fleet view: the healths of all tested parts of one store, real ones or simulated ones, never both together.

Rule: whole histories are read of those parts only where more than their last run can tell something.
"""

from collections.abc import Callable, Iterable
from datetime import datetime

from pulldrop.jobs.health import SAYS_NOTHING, of_history
from pulldrop.jobs.parts import PartView, views
from pulldrop.judge import fleet as judge
from pulldrop.judge.wear import LEAST
from pulldrop.model.fleet import Fleet
from pulldrop.model.part_event import PartEvent, PartEventKind
from pulldrop.store import History, NotKept, PartLine, Point, Store

Follow = Callable[[tuple[PartView, ...]], Iterable[PartView]]
"""Gives the parts one by one; whoever shows progress stands between."""


def fleet(store: Store, every_months: float, now: datetime, follow: Follow = lambda parts: parts) -> Fleet:
    """Of the real parts; of the simulated ones where the store holds no real one. Raises NotKept for none at all."""
    tested = tuple(one for one in views(store) if one.last is not None)
    if not tested:
        raise NotKept(f"The store {store.name} holds no tested part. Test one, or look at: pulldrop demo --years 3")
    real = tuple(one for one in tested if not one.simulated)
    events: dict[str, list[PartEvent]] = {}
    for event in store.part_events():
        events.setdefault(event.part, []).append(event)
    newest, near = store.newest_points(not real), store.foretold(not real, LEAST)
    healths = []
    for one in follow(real or tested):
        happened = tuple(events.get(one.part.id, ()))
        whole = one.part.id in near or _is_special(one, happened)
        history = store.history(one.part.id) if whole else _last_run(one, newest.get(one.part.id, ()))
        healths.append(of_history(one, history, happened, now))
    return judge.fleet(healths, every_months, now)


def _is_special(one: PartView, happened: Iterable[PartEvent]) -> bool:
    """Whether the straight line does not speak for a part: it was cleaned, or its last run says nothing of it."""
    cleaned = any(event.kind is PartEventKind.CLEANED for event in happened)
    return cleaned or (one.last is not None and one.last.overall in SAYS_NOTHING)


def _last_run(one: PartView, points: tuple[Point, ...]) -> History:
    assert one.last is not None
    line = PartLine(part=one.part, simulated=one.simulated, runs=one.runs, last=one.last)
    return History(part=line, runs=(one.last,), points=points, judgements=())
