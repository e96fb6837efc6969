"""The fleet view: the healths of all tested parts of one store, real ones or simulated ones, never both together.

Rule: whole histories are read of those parts only where more than their last run can tell something, and where
that would be too many, none: then the store's working sums speak, and the answer says so.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime

from pulldrop.jobs.parts.fleet_lines import of_lines
from pulldrop.jobs.parts.health import of_history
from pulldrop.jobs.parts.keep import view_of
from pulldrop.judge.history import fleet as judge
from pulldrop.judge.history.wear import LEAST
from pulldrop.model.history.fleet import Fleet
from pulldrop.model.history.history import Measured
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.parts_page import PartView
from pulldrop.model.verdict import SAYS_NOTHING
from pulldrop.store import AT, History, NotKept, PartLine, Store

Follow = Callable[[tuple[PartView, ...]], Iterable[PartView]]
"""Gives the parts one by one; whoever shows progress stands between."""
MANY, MANY_WHOLE = 150, 20
"""So many parts, and whole histories of so many, are read within half a second: 1.3 and 13 ms of CPU each on a busy
machine, 20 runs a part."""


def fleet(store: Store, every_months: float, now: datetime, follow: Follow = lambda parts: parts) -> Fleet:
    """The fleet of the real parts, or of the simulated ones where no part is real. Raises NotKept for no part at all.

    How many simulated parts are left out beside real ones is in `left_out`.
    """
    counts = store.tested_counts()
    if not counts:
        raise NotKept(f"The store{AT} holds no tested part. Test one, or look at: pulldrop demo --years 3", store.name)
    simulated = False not in counts
    found = _of(store, simulated, counts, every_months, now, follow)
    beside = 0 if simulated else counts.get(True, 0)
    left_out = {**found.left_out, "simulated": beside} if beside else found.left_out
    return found.model_copy(update={"left_out": left_out, "came": store.least_known_run()})


def _of(
    store: Store, simulated: bool, counts: Mapping[bool, int], every_months: float, now: datetime, follow: Follow
) -> Fleet:
    if counts[simulated] > MANY:
        return of_lines(store, simulated, every_months, now)
    lines = store.tested(simulated)
    events: dict[str, list[PartEvent]] = {line.part.id: [] for line in lines}
    for event in store.events_of(events.keys()):
        events[event.part].append(event)
    parts = tuple(view_of(line, events[line.part.id]) for line in lines)
    near = store.foretold(simulated, LEAST)
    whole = {one.part.id for one in parts if one.part.id in near or _is_special(one, events[one.part.id])}
    if len(whole) > MANY_WHOLE:
        return of_lines(store, simulated, every_months, now)
    newest = store.newest_points(simulated)
    healths = []
    for one in follow(parts):
        id = one.part.id
        history = store.history(id) if id in whole else _last_run(one, newest.get(id, ()))
        healths.append(of_history(one, history, tuple(events[id]), now))
    return judge.fleet(healths, every_months, now, store.scrapped())


def _is_special(one: PartView, happened: Iterable[PartEvent]) -> bool:
    """Whether the straight line does not speak for a part: it was cleaned, or its last run says nothing."""
    cleaned = any(event.kind is PartEventKind.CLEANED for event in happened)
    return cleaned or (one.last is not None and one.last.overall in SAYS_NOTHING)


def _last_run(one: PartView, points: tuple[Measured, ...]) -> History:
    assert one.last is not None
    line = PartLine(part=one.part, simulated=one.simulated, runs=one.runs, last=one.last)
    return History(part=line, runs=(one.last,), points=points, judgements=())
