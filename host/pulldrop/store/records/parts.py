"""Parts in the store: who they are, and the ids they get. Rule: another description is a new row, never a change.

An id is what a person writes; its births say which part it means: no other part has them (see arrivals.py).
"""

import json
import re
import secrets
from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, func, select

from pulldrop.model.part.kinds import PART, PARTS
from pulldrop.model.part.part import Part
from pulldrop.model.part.part_id import drawn
from pulldrop.store.database import chain, tables
from pulldrop.store.database.chain import Bundle, Values
from pulldrop.store.errors import PartRefused
from pulldrop.store.sums import summary
from pulldrop.store.sums.tables import part_now

PART_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,19}")
"""Short, and writable with a pen."""
TOLD = ("label", "donor", "notes")
DESCRIBED = ("id", "kind", *TOLD)
CHANCE = secrets.SystemRandom()


class PartsInTransaction:
    """The parts that one transaction is about. The connection is one for writing."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self._last: dict[str, Values | None] = {}
        self._births: dict[str, tuple[str, ...]] = {}
        self._born: dict[str, str | None] = {}
        self._next_key: int | None = None

    def look_up(self, ids: Iterable[str]) -> None:
        """Read many at once, for speed."""
        wanted = sorted(set(ids))
        self._last |= dict.fromkeys(wanted)
        rows = self.connection.execute(select(tables.part).where(tables.part.c.id.in_(wanted)).order_by("key"))
        self._last |= {row["id"]: row for row in rows.mappings()}
        self._births |= births_of(self.connection, wanted)

    def row(self, part: Part, simulated: bool, bundle: Bundle) -> Values:
        """The part's row; put into `bundle` when the part or its description is new. Raises PartRefused.

        A part without an id gets a free one. What is not given stays as it was.
        """
        if not part.id:
            part = part.model_copy(update={"id": self.free_id()})
        last = self._known(part.id)
        _refuse(part, last, simulated)
        if last is not None:
            part = part.model_copy(update={name: getattr(part, name) or last[name] for name in TOLD})
        told = {name: getattr(part, name) for name in DESCRIBED}
        row: Values = {**told, "own": json.dumps(part.own), "simulated": simulated}
        if last is not None and all(last[name] == value for name, value in row.items()):
            return last
        row = {**row, "key": self._key()}
        bundle.add(tables.part, row)
        self._last[part.id] = row
        if last is None:
            self.bear(part.id, part.births, bundle)
        return row

    def as_described(self, part: Part, simulated: bool) -> Part:
        """A part that is here, as it is described here. Raises PartRefused."""
        last = self._known(part.id)
        _refuse(part, last, simulated)
        return self.part(last) if last is not None else part

    def part(self, row: Values) -> Part:
        """The part that a row describes."""
        return part_of(row, self._births)

    def bear(self, id: str, births: Iterable[str], bundle: Bundle) -> None:
        """Note births of a part, as far as no part has them; one without any gets its own."""
        self._known(id)
        has = self._births.get(id, ())
        new = tuple(one for one in births if self.born((one,)) is None)
        if not has and not new:
            new = (f"{datetime.now(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(8)}",)
        for one in new:
            bundle.add(tables.birth, dict(birth=one, part=id))
            self._born[one] = id
        self._births[id] = tuple(sorted({*has, *new}))

    def born(self, births: Collection[str], rather: str = "") -> str | None:
        """Id of the part that has one of these births; of several `rather` this, else that of the oldest."""
        unknown = [one for one in births if one not in self._born]
        if unknown:
            own = tables.birth.c
            rows = self.connection.execute(select(own.birth, own.part).where(own.birth.in_(unknown)))
            self._born |= dict.fromkeys(unknown) | {birth: part for birth, part in rows}
        found = [part for one in sorted(births) if (part := self._born[one]) is not None]
        return rather if rather in found else found[0] if found else None

    def is_free(self, id: str) -> bool:
        """Whether no part has this id."""
        return self._known(id) is None

    def free_id(self, taken: Collection[str] = ()) -> str:
        """An id that no part has, and none of `taken`."""
        given = self.connection.execute(select(func.count()).select_from(part_now)).scalar_one()
        while True:
            id = drawn(CHANCE, given)
            if id not in taken and self.is_free(id):
                return id

    def _known(self, id: str) -> Values | None:
        if id not in self._last:
            self.look_up([id])
        return self._last[id]

    def _key(self) -> int:
        if self._next_key is None:
            self._next_key = chain.next_key(self.connection, tables.part)
        self._next_key += 1
        return self._next_key - 1


def part_of(row: Mapping[Any, Any], births: Mapping[str, tuple[str, ...]]) -> Part:
    """The part that a row describes; `births`: those of parts by id."""
    told = {name: row[name] for name in DESCRIBED}
    return PART.validate_python({**told, **json.loads(row["own"]), "births": births.get(row["id"], ())})


def _refuse(part: Part, last: Values | None, simulated: bool) -> None:
    if not PART_ID.fullmatch(part.id):
        raise PartRefused(
            f"'{part.id}' cannot be a part's id: at most 20 letters, digits, dots and dashes are expected, beginning "
            "with a letter or digit, so that it can be written on the part. Choose another, or give none."
        )
    if last is not None and bool(last["simulated"]) != simulated:
        kept, new = ("a simulated", "real") if last["simulated"] else ("a real", "simulated")
        raise PartRefused(f"{part.id} is {kept} part; a {new} run cannot be kept under it. Choose another part id.")
    if last is not None and last["kind"] != part.kind:
        raise PartRefused(f"{part.id} is {PARTS[last['kind']].noun}, not {part.noun}. Choose another part id.")


def births_of(connection: Connection, ids: Collection[str] | None = None) -> dict[str, tuple[str, ...]]:
    """The births of parts, of all without `ids`; the oldest first."""
    query = select(tables.birth.c.part, tables.birth.c.birth).order_by(tables.birth.c.birth)
    found: dict[str, tuple[str, ...]] = {}
    for part, birth in connection.execute(query if ids is None else query.where(tables.birth.c.part.in_(ids))):
        found[part] = (*found.get(part, ()), birth)
    return found


def keep_part(connection: Connection, part: Part, simulated: bool) -> Part:
    """Write a part alone, or another description of a part. Raises PartRefused."""
    bundle, parts = Bundle(), PartsInTransaction(connection)
    about = parts.row(part, simulated, bundle)
    if bundle.rows:
        chain.append(connection, [bundle])
        sums = summary.load(connection, [about["id"]])
        sums.describe(about)
        sums.put(connection)
    return parts.part(about)
