"""Events of another store that would change what a part is.

Rule: unless a noted head vouches for it, none joins two parts, none names or takes something back of a part that was
here before, and no event at all happens to a part that was measured here, nor does a run describe it anew.
"""

from collections.abc import Set

from sqlalchemy import Connection, exists, select

from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.store.database import tables
from pulldrop.store.database.chain import Values

IDENTITY = (PartEventKind.WITHDRAWN, PartEventKind.NAMED)
BY_HEAD = "Give the head that was noted at that bench (--head), or do the same here by hand."


def refusal(ours: Connection, row: Values, before: Set[str]) -> str:
    """Why such an event is not taken in, with the ids that its parts have here; empty when it may be."""
    event, own = PartEvent.model_validate_json(row["body"]), tables.part_event.c
    if event.kind is PartEventKind.JOINED:
        return f"It would make {event.part} and {event.into} one part. {BY_HEAD}"
    withdrawn = ours.execute(select(own.part).where(own.id == event.withdraws)).scalars()
    for id in sorted({event.part, event.into, *withdrawn} & before):
        if event.kind in IDENTITY or measured_here(ours, id):
            return f"It would change part {id}, which was here before ({event.kind}). {BY_HEAD}"
    return ""


def measured_here(ours: Connection, id: str) -> bool:
    """Whether a run of this part did not come from outside."""
    run, part, came = tables.run.c, tables.part.c, tables.arrival.c
    query = select(run.id).join(tables.part, run.part == part.key).where(part.id == id)
    here = ~exists().where(came.kind == "run", came.of == run.id)
    return ours.execute(query.where(here).limit(1)).first() is not None
