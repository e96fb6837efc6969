"""Parts of two ids that a person said are one. Rule: no row is moved; runs and events stay under the id they were kept
by, and every view of the part takes all of its ids together.
"""

from collections.abc import Collection, Iterable

from sqlalchemy import Connection, select

from pulldrop.model.part.event import PartEvent, PartEventKind, standing
from pulldrop.store.database import tables
from pulldrop.store.sums.tables import part_alias

SAYS = (PartEventKind.JOINED, PartEventKind.WITHDRAWN)


def by_records(connection: Connection) -> dict[str, str]:
    """As the events say it: by every id that is another part's now, the id of that part."""
    own = tables.part_event.c
    query = select(own.body).where(own.kind.in_(SAYS)).order_by(own.at, own.written, own.id)
    return _ends(standing(map(PartEvent.model_validate_json, connection.execute(query).scalars())))


def _ends(events: Iterable[PartEvent]) -> dict[str, str]:
    """Two stores may have joined the same parts either way round: of those the first to say so counts."""
    into: dict[str, str] = {}
    for event in events:
        if event.part not in into and _end(into, event.into) != event.part:
            into[event.part] = event.into
    return {id: _end(into, id) for id in into}


def _end(into: dict[str, str], id: str) -> str:
    while id in into:
        id = into[id]
    return id


def aliases(connection: Connection) -> dict[str, str]:
    """The same from the working sums."""
    return {id: part for id, part in connection.execute(select(part_alias.c.id, part_alias.c.part))}


def whose(connection: Connection, id: str) -> str:
    """The id that a part goes by: its own, unless it was joined to another."""
    found = connection.execute(select(part_alias.c.part).where(part_alias.c.id == id)).scalar()
    return id if found is None else str(found)


def ids_of(connection: Connection, id: str) -> tuple[str, ...]:
    """Every id that a part has: the one it goes by, then those that were joined to it."""
    goes_by = whose(connection, id)
    others = select(part_alias.c.id).where(part_alias.c.part == goes_by).order_by(part_alias.c.id)
    return goes_by, *connection.execute(others).scalars()


def goes_by(connection: Connection, ids: Collection[str]) -> dict[str, str]:
    """Every id of these parts, and the id of them that each goes by."""
    joined = aliases(connection)
    wanted = {joined.get(id, id) for id in ids}
    return {id: id for id in wanted} | {id: part for id, part in joined.items() if part in wanted}
