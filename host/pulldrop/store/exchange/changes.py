"""Rows of another store that would change what is here.

Rule: unless a noted head vouches for it, none joins two parts, none names or takes something back of a part that was
here before, no event at all happens to a part that was measured here, nor does a run describe it anew, and none comes
into a crate that was begun here, or judges a run that was measured here.
"""

from collections.abc import Set

from sqlalchemy import Connection, Table, exists, select

from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.store.database import chain, tables
from pulldrop.store.database.chain import Values

IDENTITY = (PartEventKind.WITHDRAWN, PartEventKind.NAMED)
BY_HEAD = "Give the head that was noted at that bench (--head), or do the same here by hand."


def refusal(ours: Connection, table: Table, row: Values, before: Set[str]) -> str:
    """Why a row that nothing vouches for is not taken in, with ids as they are here; empty when it may be."""
    if table is tables.crate_event and made_here(ours, tables.crate, row["crate"]):
        return f"It would change the crate {row['crate']}, which was begun here. {BY_HEAD}"
    if table is tables.rejudged and made_here(ours, tables.run, row["run"]):
        return f"It would judge the run {row['run']}, which was measured here. {BY_HEAD}"
    return _of_event(ours, row, before) if table is tables.part_event else ""


def _of_event(ours: Connection, row: Values, before: Set[str]) -> str:
    event, own = PartEvent.model_validate_json(row["body"]), tables.part_event.c
    if event.kind is PartEventKind.JOINED:
        return f"It would make {event.part} and {event.into} one part. {BY_HEAD}"
    withdrawn = ours.execute(select(own.part).where(own.id == event.withdraws)).scalars()
    for id in sorted({event.part, event.into, *withdrawn} & before):
        if event.kind in IDENTITY or measured_here(ours, id):
            return f"It would change part {id}, which was here before ({event.kind}). {BY_HEAD}"
    return ""


def made_here(ours: Connection, table: Table, key: str) -> bool:
    """Whether this record is here and did not come from outside."""
    (name,), came = chain.key_of(table), tables.arrival.c
    there = ours.execute(select(table.c[name]).where(table.c[name] == key)).first()
    arrived = select(came.key).where(came.kind == table.name, came.of == key)
    return there is not None and ours.execute(arrived.limit(1)).first() is None


def measured_here(ours: Connection, id: str) -> bool:
    """Whether a run of this part did not come from outside."""
    run, part, came = tables.run.c, tables.part.c, tables.arrival.c
    query = select(run.id).join(tables.part, run.part == part.key).where(part.id == id)
    here = ~exists().where(came.kind == "run", came.of == run.id)
    return ours.execute(query.where(here).limit(1)).first() is not None
