"""The chain: what is written together is an entry that names its rows; its hash includes that of the entry before.

Rule: no row of a record is written but through `append`. One chain a store: writers take turns (see `place.writing`),
so the order of entries is the order in which they were acknowledged. A correction is a new row, in a new entry.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import Boolean, Connection, Float, Integer, LargeBinary, RowMapping, Table, func, select

from pulldrop.store.database import tables
from pulldrop.store.database.stamps import stamp

START = "0" * 64
"""What the first entry follows."""
CHECK_DIGITS = 8
"""Of a row's digest, kept beside its name to tell which row was altered; the hash itself covers whole digests."""
LINK = ("seq", "at", "run", "rows", "hash")
LAST = f'SELECT "seq", "hash" FROM "{tables.link.name}" ORDER BY "seq" DESC LIMIT 1'
"""As plain SQL, for the same reason as in `put`: it is asked before every entry."""
SAME_RUN = "."
"""Stands for the entry's own run in the names of its rows."""

Values = Mapping[str, Any] | RowMapping


@dataclass(frozen=True, slots=True)
class Head:
    """The last entry: its number and hash. Noted elsewhere, it shows later whether anything before it is gone."""

    seq: int
    hash: str

    def __str__(self) -> str:
        return f"{self.seq}:{self.hash[:16]}"


@dataclass(slots=True)
class Bundle:
    """Rows that will be one entry, in the order in which they are named. `run` is the run that they are about."""

    run: str | None = None
    rows: list[tuple[Table, Values]] = field(default_factory=list)

    def add(self, table: Table, row: Values) -> None:
        self.rows.append((table, row))


def append(connection: Connection, bundles: Sequence[Bundle]) -> Head:
    """Write the rows of bundles, and an entry for each. The connection is one for writing."""
    _insert(connection, [row for bundle in bundles for row in bundle.rows])
    return _link(connection, bundles)


def head(connection: Connection) -> Head:
    """The last entry; number 0 when there is none."""
    row = connection.exec_driver_sql(LAST).first()
    return Head(row.seq, row.hash) if row else Head(0, START)


def _insert(connection: Connection, rows: Sequence[tuple[Table, Values]]) -> None:
    # One statement takes rows with the same columns only: what a later row has more would be dropped.
    groups: dict[Table, dict[tuple[str, ...], list[Values]]] = {}
    for table, row in rows:
        groups.setdefault(table, {}).setdefault(tuple(row.keys()), []).append(row)
    for table in tables.RECORDS:
        for columns, same in groups.get(table, {}).items():
            put(connection, table, columns, [tuple(row.values()) for row in same])


def put(
    connection: Connection, table: Table, columns: Sequence[str], rows: Sequence[tuple[Any, ...]], then: str = ""
) -> None:
    """Insert rows as plain SQL, which costs a third of what a statement object does for each of many rows.

    `then` follows, such as ON CONFLICT. Names are ours; values go as parameters.
    """
    mark = "%s" if connection.dialect.name == "postgresql" else "?"
    names, marks = ", ".join(f'"{name}"' for name in columns), ", ".join(mark for _ in columns)
    connection.exec_driver_sql(f'INSERT INTO "{table.name}" ({names}) VALUES ({marks}) {then}', list(rows))


def _link(connection: Connection, bundles: Sequence[Bundle]) -> Head:
    last = head(connection)
    links: list[tuple[Any, ...]] = []
    at = stamp(datetime.now(UTC))
    for bundle in bundles:
        digests = [digest(table, row) for table, row in bundle.rows]
        names = name_rows(bundle, digests)
        last = Head(last.seq + 1, link_hash(last, at, bundle.run, names, digests))
        links.append((last.seq, at, bundle.run, names, last.hash))
    if links:
        put(connection, tables.link, LINK, links)
    return last


def name_rows(bundle: Bundle, digests: Sequence[str]) -> str:
    """A bundle's rows as JSON: table, key, first digits of the digest."""
    named = []
    for (table, row), digest in zip(bundle.rows, digests, strict=True):
        key = [row[column] for column in key_of(table)]
        if key_of(table)[0] == "run" and key[0] == bundle.run:
            key[0] = SAME_RUN
        named.append([table.name, *key, digest[:CHECK_DIGITS]])
    return _as_json(named)


_as_json = json.JSONEncoder(separators=(",", ":")).encode


def link_hash(before: Head, at: str, run: str | None, names: str, digests: Sequence[str]) -> str:
    """Of one entry, which stands after `before`."""
    parts = (before.hash, str(before.seq + 1), at, run or "", names, *digests)
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


@cache
def key_of(table: Table) -> tuple[str, ...]:
    """Names of the primary key's columns."""
    return tuple(column.name for column in table.primary_key.columns)


def digest(table: Table, row: Values) -> str:
    """SHA-256 of a row's values that are not empty, the same for what is to be written and for what is read back.

    A line for each column, by name: numbers as Python writes them, text and bytes behind their length. Empty columns
    are left out, so that a column added later changes no digest of an older row.
    """
    # What is not a number comes back from SQLite as nothing.
    there = tuple([name for name, value in row.items() if value is not None and value == value])
    lines = [
        f"{head}{len(row[name])}:{row[name]}" if written is None else head + written(row[name])
        for head, name, written in _columns(table, there)
    ]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


@cache
def _columns(table: Table, names: tuple[str, ...]) -> tuple[tuple[str, str, Callable[[Any], str] | None], ...]:
    """In order, these columns and how their values are written; None for text, which most are."""
    return tuple((f"{name}=", name, _writer(table.c[name].type)) for name in sorted(names))


def _writer(kind: object) -> Callable[[Any], str] | None:
    match kind:
        case Boolean():
            return lambda value: "1" if value else "0"
        case Float():
            return lambda value: repr(float(value) + 0.0)  # SQLite knows no negative zero
        case Integer():
            return lambda value: str(int(value))
        case LargeBinary():
            return lambda body: f"{len(body)}:{hashlib.sha256(body).hexdigest()}"
    return None


def next_key(connection: Connection, table: Table) -> int:
    """The next free key of a table that counts its rows. The connection is one for writing, so nobody else takes it."""
    return int(connection.execute(select(func.coalesce(func.max(table.c.key), 0))).scalar_one()) + 1
