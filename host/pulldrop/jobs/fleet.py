"""The fleet view: the healths of all tested parts of one store, real ones or simulated ones, never both together."""

from collections.abc import Callable, Iterable
from datetime import datetime

from pulldrop.jobs.health import of_history
from pulldrop.jobs.parts import PartView, views
from pulldrop.judge import fleet as judge
from pulldrop.model.fleet import Fleet
from pulldrop.model.part_event import PartEvent
from pulldrop.store import NotKept, Store

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
    healths = [
        of_history(one, store.history(one.part.id), tuple(events.get(one.part.id, ())), now)
        for one in follow(real or tested)
    ]
    return judge.fleet(healths, every_months, now)
