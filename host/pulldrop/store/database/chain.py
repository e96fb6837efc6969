"""The chain: what is written together is an entry that names its rows; its hash includes that of the entry before.

Rule: no row of a record is written but through `append`. One chain a store: writers take turns (see `place.writing`),
so the order of entries is the order in which they were acknowledged. A correction is a new row, in a new entry.
"""

import hashlib
import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import Boolean, Connection, Float, Integer, RowMapping, Table, func, select

from pulldrop.store.database import tables
from pulldrop.store.database.stamps import stamp
from pulldrop.store.errors import AT, StoreTrouble

START = "0" * 64
"""What the first entry follows."""
CHECK_DIGITS = 8
"""Of a row's digest, kept beside its name to tell which row was altered; the hash itself covers whole digests."""
LINK = ("seq", "at", "run", "rows", "hash")
LAST = f'SELECT "seq", "hash" FROM "{tables.link.name}" ORDER BY "seq" DESC LIMIT 1'
"""As plain SQL, for the same reason as in `put`: it is asked before every entry."""
MOST = 2**63 - 1
"""Of a whole number in SQLite; PostgreSQL refuses less by itself."""
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
    for bundle in bundles:
        bundle.rows = [(table, as_kept(table, row)) for table, row in bundle.rows]
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

    `then` follows, such as ON CONFLICT. Names are ours; values go as parameters. Raises StoreTrouble when the database
    takes fewer, as by a rule of somebody else's.
    """
    mark = "%s" if connection.dialect.name == "postgresql" else "?"
    names, marks = ", ".join(f'"{name}"' for name in columns), ", ".join(mark for _ in columns)
    done = connection.exec_driver_sql(f'INSERT INTO "{table.name}" ({names}) VALUES ({marks}) {then}', list(rows))
    if not then and done.rowcount < len(rows):
        raise StoreTrouble(
            f"The store{AT} took {done.rowcount} of {len(rows)} rows of {table.name}: something in it that is not ours"
            " drops them. Nothing of it was kept. Look with: pulldrop store verify",
            place=connection.engine.url.render_as_string(),
        )


def _link(connection: Connection, bundles: Sequence[Bundle]) -> Head:
    last = head(connection)
    links: list[tuple[Any, ...]] = []
    at = stamp(datetime.now(UTC))
    for bundle in bundles:
        digests = [digest(row) for _, row in bundle.rows]
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


def link_hash(before: Head, at: object, run: object, names: object, digests: Sequence[str]) -> str:
    """Of one entry, which stands after `before`."""
    parts = (before.hash, cell(before.seq + 1), cell(at), cell(run), cell(names), *digests)
    return hashlib.sha256("\n".join(parts).encode(errors="surrogatepass")).hexdigest()


@cache
def key_of(table: Table) -> tuple[str, ...]:
    """Names of the primary key's columns."""
    return tuple(column.name for column in table.primary_key.columns)


def digest(row: Values) -> str:
    """SHA-256 of a row's cells that are not empty, the same for what is to be written and for what is read back raw.

    A line for each column, by name. Empty columns are left out, so that a column added later changes no digest of an
    older row.
    """
    lines = [f"{name}={cell(row[name])}" for name in _ordered(tuple(row)) if row[name] is not None]
    return hashlib.sha256("\n".join(lines).encode(errors="surrogatepass")).hexdigest()


@cache
def _ordered(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted(names))


def cell(value: object) -> str:
    """A value as the chain covers it: its type first, so that 1, 1.0, '1' and the byte '1' are four values.

    Text and bytes stand behind their length. Yes and no are 1 and 0, as SQLite keeps them.
    """
    if isinstance(value, str):
        return f"t{len(value)}:{value}"
    if value is None:
        return "n"
    if isinstance(value, int):
        return f"i{int(value)}"
    if isinstance(value, float):
        return f"f{value!r}"
    if isinstance(value, bytes):
        return f"b{len(value)}:{hashlib.sha256(value).hexdigest()}"
    raise TypeError(f"a cell cannot hold {type(value).__name__}")


def as_kept(table: Table, row: Values) -> Values:
    """A row as the database will give it back: every value of its column's type. Raises OverflowError."""
    convert = _converters(table)
    return {
        name: convert[name](value) if value is not None and name in convert else value for name, value in row.items()
    }


@cache
def _converters(table: Table) -> dict[str, Callable[[Any], Any]]:
    found = ((column.name, _converter(column.type)) for column in table.columns)
    return {name: convert for name, convert in found if convert is not None}


def _converter(kind: object) -> Callable[[Any], Any] | None:
    match kind:
        case Boolean():
            return bool
        case Float():
            return _number
        case Integer():
            return _whole_number
    return None


def _number(value: Any) -> float | None:
    """SQLite keeps neither what is not a number nor a negative zero."""
    value = float(value)
    return value + 0.0 if value == value else None


def _whole_number(value: Any) -> int:
    whole = int(value)
    if not -MOST <= whole <= MOST:
        raise OverflowError(f"{whole} is beyond what a store can hold")
    return whole


def raw_rows(connection: Connection, table: str, where: str = "", values: Sequence[Any] = ()) -> list[RowMapping]:
    """Rows as the database has them: no value is read as what its column should hold.

    `where`: a condition with a ? for each value. Bytes that are no text come back as bytes.
    """
    sql = f'SELECT * FROM "{table}"' + (f" WHERE {where}" if where else "")
    if connection.dialect.name == "postgresql":
        return list(connection.exec_driver_sql(sql.replace("?", "%s"), tuple(values)).mappings())
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    before, driver.text_factory = driver.text_factory, _text_or_bytes
    try:
        return list(connection.exec_driver_sql(sql, tuple(values)).mappings())
    finally:
        driver.text_factory = before


def _text_or_bytes(raw: bytes) -> str | bytes:
    try:
        return raw.decode()
    except UnicodeDecodeError:
        return raw


def next_key(connection: Connection, table: Table) -> int:
    """The next free key of a table that counts its rows. The connection is one for writing, so nobody else takes it."""
    return int(connection.execute(select(func.coalesce(func.max(table.c.key), 0))).scalar_one()) + 1
