"""Which part here is which part of another store. Rule: two are one when they share a birth, a run or an event, or when
a person says so; never because they have the same id. A clash of ids gives the part that arrives an id of its own.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from fnmatch import fnmatchcase
from itertools import islice

from sqlalchemy import Connection, select

from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.part import Part
from pulldrop.store.database import tables
from pulldrop.store.database.chain import Bundle
from pulldrop.store.exchange.changes import BY_HEAD, measured_here
from pulldrop.store.records import part_events
from pulldrop.store.records.parts import PartsInTransaction

AT_ONCE = 500

Key = tuple[str, tuple[str, ...]]
"""A part of the other store: the same id may come from two stores in one file."""


class Arrivals:
    """The parts that one import brings. `source`: where from, for a person; `same`: ids of parts that are one in both
    by a person's word, with the wildcards of file names; `told`: sentences about parts that have another id here;
    `before`: ids of the parts that were here before; `distrusted`: births that the noted head does not cover.
    """

    def __init__(self, source: str, same: Sequence[str] = ()) -> None:
        self.told: list[str] = []
        self.before: frozenset[str] = frozenset()
        self.distrusted: frozenset[str] = frozenset()
        self._source, self._same = source, tuple(same)
        self._here: dict[Key, str] = {}
        self._given: set[str] = set()
        self._noted: set[Key] = set()

    def meet(
        self, connection: Connection, runs: Iterable[tuple[str, Part]], events: Iterable[tuple[str, Part]]
    ) -> None:
        """Look which of these runs and events are here already: their parts are known by them."""
        run, part, event = tables.run.c, tables.part.c, tables.part_event.c
        self.before = frozenset(connection.execute(select(part.id)).scalars())
        of_runs = select(run.id, part.id).join(tables.part, run.part == part.key)
        for things, own, query in ((runs, run.id, of_runs), (events, event.id, select(event.id, event.part))):
            rest = iter(things)
            while some := dict(islice(rest, AT_ONCE)):
                for id, here in connection.execute(query.where(own.in_(some))):
                    self._is(some[id], self._here.get(_key(some[id]), here))

    def find(self, parts: PartsInTransaction, there: Part) -> str:
        """The id here of a part there; a new one when its own is another part's."""
        here = self._here.get(_key(there)) or parts.born(self._births(there), there.id)
        if here is None:
            free = there.id not in self._given and parts.is_free(there.id)
            here = there.id if free or self._said(there) else parts.free_id(self._given)
        self._is(there, here)
        return here

    def _births(self, there: Part) -> list[str]:
        return [one for one in there.births if one not in self.distrusted]

    def _said(self, there: Part) -> bool:
        return any(fnmatchcase(there.id, one) for one in self._same)

    def _is(self, there: Part, here: str) -> None:
        self._here[_key(there)] = here
        self._given.add(here)

    def note(self, parts: PartsInTransaction, there: Part, simulated: bool, bundle: Bundle, vouched: bool) -> None:
        """Write down what is new about a part that was found: its births, and the id that it has there; nothing where
        the part was measured here, and neither a head nor a person vouches for it.
        """
        if _key(there) in self._noted:
            return
        self._noted.add(_key(there))
        here = self._here[_key(there)]
        if not vouched and not self._said(there) and measured_here(parts.connection, here):
            if here != there.id:
                self.told.append(
                    f"Part {there.id} of {self._source} is {here} here, which does not get that name. {BY_HEAD}"
                )
            return
        parts.bear(here, self._births(there), bundle)
        if here == there.id or any(there.id == one.name for one in part_events.of(parts.connection, {here})):
            return
        now = datetime.now(UTC)
        said = f"also {there.id}, in {self._source}"
        event = PartEvent(part=here, at=now, kind=PartEventKind.NAMED, text=said, name=there.id)
        bundle.add(tables.part_event, part_events.row(event, simulated, now))
        self.told.append(
            f"Part {there.id} of {self._source} is {here} here."
            if parts.is_free(there.id)
            else f"Part {there.id} of {self._source} is another than the part {there.id} here. It is {here} here: write"
            f" {here} on it. '{there.id}, in {self._source}' is noted beside it."
        )


def _key(part: Part) -> Key:
    return part.id, part.births
