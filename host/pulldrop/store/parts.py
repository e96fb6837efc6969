"""Parts in the store: who they are, and the ids they get. Rule: another description is a new row, never a change."""

import re
from collections.abc import Iterable

from sqlalchemy import Connection, select

from pulldrop.model.part_id import next_free, well_formed
from pulldrop.model.record import Part
from pulldrop.store import chain, summary, tables
from pulldrop.store.chain import Bundle, Values
from pulldrop.store.errors import PartRefused

PART_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,19}")
"""Short, and writable with a pen."""
LOOK_BACK = 100
"""Newest parts among which the last id given is looked for."""
TOLD = ("label", "donor", "notes")


class Parts:
    """The parts that one transaction is about. The connection is one for writing."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._last: dict[str, Values | None] = {}
        self._next_key: int | None = None

    def look_up(self, ids: Iterable[str]) -> None:
        """Read many at once, for speed."""
        wanted = sorted(set(ids))
        self._last |= dict.fromkeys(wanted)
        rows = self._connection.execute(select(tables.part).where(tables.part.c.id.in_(wanted)).order_by("key"))
        self._last |= {row["id"]: row for row in rows.mappings()}

    def row(self, part: Part, simulated: bool, bundle: Bundle) -> Values:
        """The part's row; put into `bundle` when the part or its description is new. Raises PartRefused.

        A part without an id gets the next free one. What is not told anew stays as it was.
        """
        if not part.id:
            part = part.model_copy(update={"id": next_id(self._connection)})
        if part.id not in self._last:
            self.look_up([part.id])
        last = self._last[part.id]
        _refuse(part, last, simulated)
        if last is not None:
            part = part.model_copy(update={name: getattr(part, name) or last[name] for name in TOLD})
        row: Values = {**part.model_dump(), "simulated": simulated}
        if last is not None and all(last[name] == value for name, value in row.items()):
            return last
        row = {**row, "key": self._key()}
        bundle.add(tables.part, row)
        self._last[part.id] = row
        return row

    def _key(self) -> int:
        if self._next_key is None:
            self._next_key = chain.next_key(self._connection, tables.part)
        self._next_key += 1
        return self._next_key - 1


def _refuse(part: Part, last: Values | None, simulated: bool) -> None:
    if not PART_ID.fullmatch(part.id):
        raise PartRefused(
            f"'{part.id}' cannot be a part's id: at most 20 letters, digits, dots and dashes are expected, beginning "
            "with a letter or digit, so that it can be written on the part. Choose another, or give none."
        )
    if last is not None and bool(last["simulated"]) != simulated:
        kept, new = ("a simulated", "real") if last["simulated"] else ("a real", "simulated")
        raise PartRefused(f"{part.id} is {kept} part; a {new} run cannot be kept under it. Choose another part id.")


def part_of(row: Values) -> Part:
    """The part that a row describes."""
    return Part.model_validate({name: row[name] for name in Part.model_fields})


def keep_part(connection: Connection, part: Part, simulated: bool) -> Part:
    """Write a part, or another description of it, by itself. Raises PartRefused."""
    bundle = Bundle()
    about = Parts(connection).row(part, simulated, bundle)
    if bundle.rows:
        chain.append(connection, [bundle])
        sums = summary.load(connection, [about["id"]])
        sums.describe(about)
        sums.put(connection)
    return part_of(about)


def next_id(connection: Connection) -> str:
    """The next free id for a part without one. The connection is one for writing, so nobody else takes it.

    The newest parts tell where the counting stands; all are asked only when they do not.
    """
    own = tables.part.c
    newest = list(connection.execute(select(own.id).order_by(own.key.desc()).limit(LOOK_BACK)).scalars())
    id = next_free(newest)
    if any(map(well_formed, newest)) and connection.execute(select(own.key).where(own.id == id)).first() is None:
        return id
    return next_free(connection.execute(select(own.id).distinct()).scalars())
