"""Crates in the store. Rule: what happens to a crate is a row of its own; a placing is written with its run's end.

Each row is written at the place where the sorter expects it: when another program was there first, it is refused, so
that no number is given twice.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, func, select

from pulldrop.model.crate.crate import CrateEvent, CrateHead, Happened
from pulldrop.model.origin import Arrived, origin_of
from pulldrop.store.database import chain, tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.database.stamps import stamp
from pulldrop.store.errors import CrateRefused
from pulldrop.store.records.arrived import arrived, not_vouched

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,39}")


@dataclass(frozen=True, slots=True)
class Entry:
    """One event to be written as the `seq`th of a crate, counted from 1."""

    crate: str
    seq: int
    event: CrateEvent


class Crates(Connected):
    """Crates, what happened to them, and values to tell their parts apart."""

    def crate(self, name: str, simulated: bool, now: datetime) -> tuple[CrateHead, tuple[CrateEvent, ...]]:
        """The crate of this name, begun when it is new, and all that happened to it. Raises CrateRefused."""
        with self.writing() as connection:
            return begin(connection, name, simulated, now), events(connection, name)

    def all_crates(self) -> tuple[CrateHead, ...]:
        """Every crate, by its name."""
        with self.reading("the list of crates") as connection:
            rows = connection.execute(select(tables.crate).order_by(tables.crate.c.name)).all()
            came = arrived(connection, tables.crate)
            return tuple(_head(row, came) for row in rows)

    def crate_events(self, name: str) -> tuple[CrateEvent, ...]:
        """All that happened to a crate, to look at."""
        with self.reading(f"the crate {name}") as connection:
            return events(connection, name)

    def crates_with(self, number: int) -> tuple[str, ...]:
        """Names of the crates in which this number was given."""
        with self.reading("the crates") as connection:
            own = tables.crate_event.c
            query = select(own.crate).where(own.number == number, own.kind == Happened.PLACED.value).distinct()
            return tuple(connection.execute(query.order_by(own.crate)).scalars())

    def crates_of(self, parts: Collection[str]) -> tuple[str, ...]:
        """Names of the crates in which these parts were tested."""
        with self.reading("the crates") as connection:
            own, run, part = tables.crate_event.c, tables.run.c, tables.part.c
            query = select(own.crate).join(tables.run, own.run == run.id).join(tables.part, run.part == part.key)
            query = query.where(part.id.in_(parts)).distinct()
            return tuple(connection.execute(query.order_by(own.crate)).scalars())

    def crate_event(self, entry: Entry) -> None:
        """Keep one thing that happened to a crate. Raises CrateRefused when another program was quicker."""
        with self.writing() as connection:
            bundle = chain.Bundle(entry.event.run or None)
            place(connection, entry, bundle)
            chain.append(connection, [bundle])

    def values(self, runs: Sequence[str]) -> dict[str, dict[str, tuple[float, float]]]:
        """By run and measurement: value and expanded uncertainty of all that have a plain number."""
        with self.reading("values of runs") as connection:
            own = tables.measurement.c
            found: dict[str, dict[str, tuple[float, float]]] = {run: {} for run in runs}
            columns = select(own.run, own.id, own.value, own.expanded_uncertainty)
            for start in range(0, len(runs), 500):
                asked = columns.where(own.run.in_(runs[start : start + 500]), own.value.is_not(None), own.bound == "=")
                for row in connection.execute(asked):
                    found[row.run][row.id] = (row.value, row.expanded_uncertainty)
            return found

    def goldens(self) -> tuple[str, ...]:
        """Ids of all golden parts, the last marked first."""
        with self.reading("the list of golden parts") as connection:
            own = tables.golden.c
            ours = select(own.part).where(~not_vouched(tables.golden, own.key))
            return tuple(connection.execute(ours.group_by(own.part).order_by(func.max(own.key).desc())).scalars())


def begin(connection: Connection, name: str, simulated: bool, now: datetime) -> CrateHead:
    """The crate of this name, begun now when it is new."""
    if not NAME.fullmatch(name):
        raise CrateRefused(
            f"'{name[:60]}' cannot be a crate's name: at most 40 letters, digits, blanks, dots and dashes were"
            " expected, beginning with a letter or digit. Choose another."
        )
    row = connection.execute(select(tables.crate).where(tables.crate.c.name == name)).first()
    if row is None:
        added = dict(name=name, simulated=simulated, begun=stamp(now))
        chain.append(connection, [chain.Bundle(rows=[(tables.crate, added)])])
        return CrateHead(name=name, simulated=simulated, begun=now)
    if bool(row.simulated) != simulated:
        kept, new = ("simulated", "real") if row.simulated else ("real", "simulated")
        raise CrateRefused(f"The crate {name} holds {kept} parts; {new} ones cannot come into it. Name another crate.")
    return _head(row, arrived(connection, tables.crate, [name]))


def place(connection: Connection, entry: Entry, bundle: chain.Bundle) -> None:
    """Put one event among the rows that are to be written together. Raises CrateRefused."""
    own, event = tables.crate_event.c, entry.event
    last = connection.execute(select(func.max(own.seq)).where(own.crate == entry.crate)).scalar() or 0
    if last + 1 != entry.seq:
        raise CrateRefused(
            f"Another program sorts the crate {entry.crate} at the same time; nothing was placed here. End one of them,"
            " then begin again."
        )
    bundle.add(
        tables.crate_event, dict(crate=entry.crate, seq=entry.seq, **columns(event), body=event.model_dump_json())
    )


def columns(event: CrateEvent) -> dict[str, object]:
    """Of an event what stands in columns of its own."""
    return dict(
        at=stamp(event.at),
        kind=event.kind.value,
        number=event.number,
        run=event.run or None,
        bin=event.placed.bin.value if event.placed else None,
    )


def events(connection: Connection, name: str) -> tuple[CrateEvent, ...]:
    """All that happened to a crate, in order."""
    own = tables.crate_event.c
    rows = connection.execute(select(own.body).where(own.crate == name).order_by(own.seq)).scalars()
    return tuple(CrateEvent.model_validate_json(row) for row in rows)


def _head(row: Row[Any], came: Mapping[str, Arrived]) -> CrateHead:
    how = origin_of(False, came.get(row.name))
    return CrateHead(name=row.name, simulated=row.simulated, begun=datetime.fromisoformat(row.begun), came=how)
