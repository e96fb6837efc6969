"""Events of another store that would change what a part is.

Rule: unless a noted head vouches for it, none joins, names, describes or takes something back of a part that was here
before; a card is refused only for a part that was measured here.
"""

from collections.abc import Set

from sqlalchemy import Connection, exists, select

from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.store.database import tables
from pulldrop.store.database.chain import Values

CHANGE = (PartEventKind.JOINED, PartEventKind.WITHDRAWN, PartEventKind.NAMED, PartEventKind.DESCRIBED)


def refusal(ours: Connection, row: Values, before: Set[str]) -> str:
    """Why such an event is not taken in, with the ids that its parts have here; empty when it may be."""
    event, own = PartEvent.model_validate_json(row["body"]), tables.part_event.c
    if event.kind not in CHANGE:
        return ""
    withdrawn = ours.execute(select(own.part).where(own.id == event.withdraws)).scalars()
    for id in sorted({event.part, event.into, *withdrawn} & before):
        if event.kind is not PartEventKind.DESCRIBED or _measured_here(ours, id):
            return (
                f"It would change part {id}, which was here before ({event.kind}). Give the head that was noted at that"
                " bench (--head), or do the same here by hand."
            )
    return ""


def _measured_here(ours: Connection, id: str) -> bool:
    run, part, came = tables.run.c, tables.part.c, tables.arrival.c
    query = select(run.id).join(tables.part, run.part == part.key).where(part.id == id)
    here = ~exists().where(came.kind == "run", came.of == run.id)
    return ours.execute(query.where(here).limit(1)).first() is not None
