"""What came from outside, in the store. Rule: every record that was not made here has a row that says so, written in
the same entry of the chain; a later row, such as for a head that was noted since, counts in place of an earlier one.
"""

from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, String, Table, cast, func, select

from pulldrop.model.origin import Arrived
from pulldrop.store.database import chain, tables

AT_ONCE = 500


class Arriving:
    """The records that one transaction brings from outside. The connection is one for writing."""

    def __init__(self, connection: Connection, source: str, head: str = "") -> None:
        self._key = chain.next_key(connection, tables.arrival)
        self._source, self._head = source, head

    def note(self, bundle: chain.Bundle, table: Table, of: object, rules: str = "", vouched: bool = True) -> None:
        """Write down beside a record that it came from outside; `rules`: see `Arrived`.

        With a run so did the description of its part, if it is new.
        """
        if table is tables.run:
            for key in [row["key"] for of_table, row in bundle.rows if of_table is tables.part]:
                self.note(bundle, tables.part, key, vouched=vouched)
        row = dict(
            key=self._key, kind=table.name, of=str(of), at=datetime.now(UTC).isoformat(timespec="microseconds"),
            source=self._source, head=self._head if vouched else "", rules=rules,
        )  # fmt: skip
        bundle.add(tables.arrival, row)
        self._key += 1


def arrived(connection: Connection, table: Table, ids: Collection[str] | None = None) -> dict[str, Arrived]:
    """How those of these records arrived that did, by key; of all records of the table without `ids`."""
    own = tables.arrival.c
    query = select(own.of, own.at, own.source, own.head, own.rules).where(own.kind == table.name).order_by(own.key)
    if ids is None:
        return {row.of: _arrived(row) for row in connection.execute(query)}
    found, wanted = dict[str, Arrived](), sorted(ids)
    for start in range(0, len(wanted), AT_ONCE):
        some: Sequence[str] = wanted[start : start + AT_ONCE]
        found |= {row.of: _arrived(row) for row in connection.execute(query.where(own.of.in_(some)))}
    return found


def not_vouched(table: Table, key: ColumnElement[Any]) -> ColumnElement[bool]:
    """Condition: the record came from outside, and no head vouches for it."""
    own = tables.arrival.c
    last = select(own.head).where(own.kind == table.name, own.of == cast(key, String)).order_by(own.key.desc()).limit(1)
    return func.coalesce(last.scalar_subquery(), "measured here") == ""


def _arrived(row: Any) -> Arrived:
    return Arrived(source=row.source, at=datetime.fromisoformat(row.at), head=row.head, rules=row.rules)
