"""Behind the store's back: is whatever somebody changes in it found, and does each finding name its row?

Every table is tampered with, records and working sums: values of every storage class in every column of its first and
last row, rows taken out, put in, doubled and exchanged; tables, triggers and indices dropped, weakened and planted;
version marks; photos; the end cut off. Guards are taken off for it and put back on. What a strict table refuses even
then is counted apart, and what changes nothing is no tamper. `--parts`: so many tampers of those, drawn by the seed.
"""

import json
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import databases
import records
from report import AnyGoal, Goal, close, parser
from sqlalchemy import Connection, Table
from sqlalchemy.exc import DBAPIError
from test_store import fill, keep

from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.store import Store, StoreTrouble, Verified
from pulldrop.store.database import chain
from pulldrop.store.database.tables import RECORDS
from pulldrop.store.sums.tables import SUMS, part_alias, part_now

VALUES = ("NULL", "''", "'x'", "'yes'", "0", "1", "2", "-1", "0.5", "4611686018427387904", "X'31'", "X'ff'",
          "CAST(X'ff' AS TEXT)", "1e308", "9e999")  # fmt: skip
OF_ITSELF = ("{c} + 1", "{c} + 0.25", "{c} * 1.0000000001", "-{c}", "CAST({c} AS TEXT)", "CAST({c} AS BLOB)",
             "{c} || ' '", "upper({c})", "{c} || char(0)")  # fmt: skip
ON_SERVER = ("NULL", "''", "'x'", "0", "1", "2", "-1", "0.5", "true", "false", "1e308", "'NaN'", "'Infinity'",
             "'\\x31'", "{c} + 1", "{c} * 1.0000000001", "-{c}", "{c} || ' '", "upper({c})", "NOT {c}")  # fmt: skip
Blow = Callable[[Connection, Path], None]
"""Changes something behind the store's back; the folder is that of its photos."""


@dataclass(frozen=True)
class Tamper:
    """One change: `names` is what the findings must have in `where`; empty where the store as a whole is meant."""

    told: str
    blow: Blow
    table: str = ""
    names: tuple[str, ...] = ()


@dataclass
class Seen:
    """What came of the tampers: `unseen`, `unnamed` and `broke` are listed in words."""

    kinds: Counter[str] = field(default_factory=Counter)
    unseen: list[str] = field(default_factory=list)
    unnamed: list[str] = field(default_factory=list)
    broke: list[str] = field(default_factory=list)


def first_and_last(connection: Connection, table: Table) -> list[dict[str, Any]]:
    rows = [dict(row) for row in chain.raw_rows(connection, table.name)]
    return rows[:1] + rows[1:][-1:]


def where_of(table: Table, row: dict[str, Any]) -> str:
    return " AND ".join(f"\"{name}\" = '{row[name]}'" for name in chain.key_of(table))


def named(table: Table, row: dict[str, Any]) -> tuple[str, ...]:
    """Of a working sum the part, of an entry its number, else table and key."""
    if table in SUMS:
        return ("part_now", str(row["id"] if table in (part_now, part_alias) else row["part"]))
    return (table.name, *(str(row[name]) for name in chain.key_of(table)))


def sql(statement: str, table: str) -> Blow:
    def blow(connection: Connection, _: Path) -> None:
        guarded = [table] if table in {one.name for one in RECORDS} else []
        with databases.unguarded(connection, *guarded):
            connection.exec_driver_sql(statement.replace("%", "%%"))

    return blow


def of_cells(connection: Connection) -> Iterator[Tamper]:
    """Every column of the first and the last row of every table, with every value."""
    values = ON_SERVER if connection.dialect.name == "postgresql" else (*VALUES, *OF_ITSELF)
    for table in (*RECORDS, *SUMS):
        for row in first_and_last(connection, table):
            for column in row:
                for value in (one.format(c=f'"{column}"') for one in values):
                    change = f'UPDATE "{table.name}" SET "{column}" = {value} WHERE {where_of(table, row)}'
                    yield Tamper(change, sql(change, table.name), table.name, named(table, row))


def of_rows(connection: Connection) -> Iterator[Tamper]:
    """Rows that are gone, put in under another key, or have each other's content."""
    for table in (*RECORDS, *SUMS):
        rows = first_and_last(connection, table)
        for row in rows:
            gone = f'DELETE FROM "{table.name}" WHERE {where_of(table, row)}'
            yield Tamper(gone, sql(gone, table.name), table.name, named(table, row))
        key = chain.key_of(table)[-1]
        new = {**rows[0], key: rows[0][key] + 7777 if isinstance(rows[0][key], int) else f"{rows[0][key]}7"}
        columns = ", ".join(f'"{name}"' for name in new)
        other = ", ".join(f"{new[key]!r}" if name == key else f'"{name}"' for name in new)
        like_it = f'FROM "{table.name}" WHERE {where_of(table, rows[0])}'
        put_in = f'INSERT INTO "{table.name}" ({columns}) SELECT {other} {like_it}'
        yield Tamper(put_in, sql(put_in, table.name), table.name, () if table in SUMS else named(table, new))
        if len(rows) == 2:
            yield Tamper(
                f"two rows of {table.name} exchanged", _exchange(table, rows), table.name, named(table, rows[1])
            )


def _exchange(table: Table, rows: list[dict[str, Any]]) -> Blow:
    """All but the key of two rows."""
    columns = [name for name in rows[0] if name not in chain.key_of(table)]

    def blow(connection: Connection, _: Path) -> None:
        mark = "%s" if connection.dialect.name == "postgresql" else "?"
        setting = ", ".join(f'"{name}" = {mark}' for name in columns)
        with databases.unguarded(connection, *([table.name] if table in RECORDS else [])):
            for row, other in (rows, rows[::-1]):
                change = f'UPDATE "{table.name}" SET {setting} WHERE {where_of(table, row)}'
                connection.exec_driver_sql(change, tuple(other[name] for name in columns))

    return blow


def of_schema(connection: Connection) -> Iterator[Tamper]:
    """What holds the rows: dropped, weakened, planted."""
    if connection.dialect.name == "postgresql":
        yield from _of_schema_on_server(connection)
        return
    for kind, name, of, made in connection.exec_driver_sql(
        "SELECT type, name, tbl_name, sql FROM sqlite_master"
    ).fetchall():
        if made is None:
            continue
        if kind == "index" and " WHERE " not in made:  # one of some rows only may hold none
            yield Tamper(f"index {name} emptied", _emptied(name, made))
        yield Tamper(f"{kind} {name} dropped", _plain(f'DROP {kind} "{name}"'))
        if kind == "trigger":
            when = " WHEN " in made
            weaker = made.replace(" WHEN ", " WHEN 0 AND ") if when else made.replace(" BEGIN ", " WHEN 0 BEGIN ")
            yield Tamper(f"trigger {name} weakened", _plain(f'DROP TRIGGER "{name}"', weaker))
        if kind == "table" and of in {table.name for table in (*RECORDS, *SUMS)}:
            yield Tamper(
                f"table {name} made again, not strict", _made_again(name, made.replace("STRICT", "").rstrip(" \n,"))
            )
            yield Tamper(f"table {name} with a column more", _plain(f'ALTER TABLE "{name}" ADD COLUMN more TEXT'))
    yield Tamper("a trigger planted", _plain("CREATE TRIGGER mine AFTER INSERT ON run BEGIN SELECT 1; END"))
    yield Tamper("a view planted", _plain("CREATE VIEW mine AS SELECT * FROM run"))
    yield Tamper("an index planted", _plain("CREATE INDEX mine ON run (operator)"))
    for pragma in ("user_version = 0", "user_version = 7", "user_version = -1", "application_id = 0"):
        yield Tamper(pragma, _plain(f"PRAGMA {pragma}"))


def _of_schema_on_server(connection: Connection) -> Iterator[Tamper]:
    for table in (*RECORDS, *SUMS):
        yield Tamper(f"{table.name} with a column more", _plain(f'ALTER TABLE "{table.name}" ADD COLUMN more TEXT'))
        yield Tamper(f"{table.name} dropped", _plain(f'DROP TABLE "{table.name}" CASCADE'))
    for table in RECORDS:
        yield Tamper(f"triggers of {table.name} off", _plain(f'ALTER TABLE "{table.name}" DISABLE TRIGGER ALL'))
        yield Tamper(f"trigger of {table.name} gone", _plain(f'DROP TRIGGER {table.name}_no_change ON "{table.name}"'))
        yield Tamper(
            f"rule on {table.name}", _plain(f'CREATE RULE mine AS ON INSERT TO "{table.name}" DO ALSO NOTHING')
        )
    body = "CREATE OR REPLACE FUNCTION pulldrop_append_only() RETURNS trigger LANGUAGE plpgsql AS"
    yield Tamper("the guard's function weakened", _plain(f"{body} $$ BEGIN RETURN NEW; END $$"))
    yield Tamper("a view planted", _plain("CREATE VIEW mine AS SELECT * FROM run"))
    yield Tamper("a check dropped", _plain("ALTER TABLE run DROP CONSTRAINT run_simulated_by_kind"))
    for version in ("UPDATE pulldrop_version SET version = 7", "DELETE FROM pulldrop_version",
                    "INSERT INTO pulldrop_version VALUES (1)"):  # fmt: skip
        yield Tamper(version, _plain(version))


def _plain(*statements: str) -> Blow:
    def blow(connection: Connection, _: Path) -> None:
        for statement in statements:
            connection.exec_driver_sql(statement)

    return blow


def _emptied(index: str, made: str) -> Blow:
    """Built again for no row, and then described as before: what is looked up by it is not found."""
    change = f"UPDATE sqlite_master SET sql = '{{}}' WHERE name = '{index}'"
    return _plain(
        "PRAGMA writable_schema = ON", change.format(f"{made} WHERE 0"), "PRAGMA writable_schema = RESET",
        f"REINDEX {index}",
        "PRAGMA writable_schema = ON", change.format(made), "PRAGMA writable_schema = RESET",
    )  # fmt: skip


def _made_again(table: str, made: str) -> Blow:
    """The same rows in a table of another make, its triggers and indices put back."""

    def blow(connection: Connection, _: Path) -> None:
        query = "SELECT sql FROM sqlite_master WHERE tbl_name = ? AND type IN ('trigger', 'index') AND sql IS NOT NULL"
        beside = [one for (one,) in connection.exec_driver_sql(query, (table,)).fetchall()]
        connection.exec_driver_sql("PRAGMA legacy_alter_table = ON")
        connection.exec_driver_sql(f'ALTER TABLE "{table}" RENAME TO old')
        connection.exec_driver_sql(made)
        connection.exec_driver_sql(f'INSERT INTO "{table}" SELECT * FROM old')
        connection.exec_driver_sql("DROP TABLE old")
        for one in beside:
            connection.exec_driver_sql(one)

    return blow


def of_photos_and_end(connection: Connection) -> Iterator[Tamper]:
    """Photos beside the store, and its newest entries."""

    yield Tamper("a photo altered", _photo(lambda one: one.write_bytes(b"another")), "photo", ("photo",))
    yield Tamper("a photo gone", _photo(lambda one: one.unlink()), "photo", ("photo",))
    yield Tamper("a photo put in", _photo(lambda one: one.with_name("b.png").write_bytes(b"x")), "photo", ("photo",))
    yield Tamper("a photo that is a link", _photo(_link), "photo", ("photo",))
    yield Tamper("the newest entry gone with its rows", _cut_off)


def _photo(change: Callable[[Path], object]) -> Blow:
    def blow(_: Connection, folder: Path) -> None:
        change(next(folder.iterdir()))

    return blow


def _link(photo: Path) -> None:
    photo.symlink_to(photo.rename(photo.parent.parent / "away"))


def _cut_off(connection: Connection, _: Path) -> None:
    last = chain.raw_rows(connection, "link", '"seq" = (SELECT max("seq") FROM link)')[0]
    with databases.unguarded(connection, *(table.name for table in RECORDS)):
        for name, *key, _ in json.loads(last["rows"]):
            table = next(one for one in RECORDS if one.name == name)
            row = dict(zip(chain.key_of(table), [last["run"] if one == "." else one for one in key], strict=True))
            connection.exec_driver_sql(f'DELETE FROM "{name}" WHERE {where_of(table, row)}')
        connection.exec_driver_sql(f"DELETE FROM link WHERE seq = {last['seq']}")


KINDS = {"cells": of_cells, "rows": of_rows, "schema": of_schema, "photos and end": of_photos_and_end}


def try_one(where: str, tamper: Tamper, kind: str, head: str, seen: Seen) -> None:
    """Tamper with a store of its own, and hold what verify says against it."""
    with Store.open(where) as store:
        folder = store.photos
    with databases.behind(where) as plain:
        if plain.dialect.name == "sqlite":
            plain.exec_driver_sql("PRAGMA ignore_check_constraints = ON")
        before = _all(plain, tamper.table)
        try:
            tamper.blow(plain, folder)
        except (DBAPIError, OverflowError):
            seen.kinds["refused by the database"] += 1
            return
        if tamper.table not in ("", "photo") and before == _all(plain, tamper.table):
            seen.kinds["no change"] += 1
            return
    seen.kinds[kind] += 1
    try:
        with Store.open(where) as store:
            found = store.verify(head)
    except StoreTrouble as trouble:  # a sentence; what cannot be opened has no rows to name
        if tamper.names:
            seen.unnamed.append(f"{tamper.told}: {trouble}")
        return
    except Exception as error:
        seen.broke.append(f"{tamper.told}: {error!r}")
        return
    if not found.findings:
        seen.unseen.append(tamper.told)
    elif not _names(found, tamper.names):
        seen.unnamed.append(f"{tamper.told}: {found.findings[:3]}")


def _names(found: Verified, names: tuple[str, ...]) -> bool:
    """An entry may be named by the one behind it, which does not follow from it, and the last by the noted head."""
    where = found.where
    if names[:1] == ("link",):
        said = any(f"before entry {names[1]}," in one for one in found.findings)
        return said or bool({names, ("link", str(int(names[1]) + 1))} & set(where))
    any_part = ("part_now", "?") if names[:1] == ("part_now",) else names
    return any(one[: len(names)] in (names, any_part) for one in where)


def _all(connection: Connection, table: str) -> list[str]:
    if table in ("", "photo"):
        return []
    return sorted(chain.digest(row) for row in chain.raw_rows(connection, table))


def filled(folder: Path) -> Callable[[Store], str]:
    """Everything in a store, a photo too; gives the head."""

    def put(store: Store) -> str:
        kept = fill(store)
        picture = folder / "case.png"
        picture.write_bytes(b"invented picture")
        name = store.keep_photo(picture)
        part, at = kept.part.id, kept.started
        store.part_event(PartEvent(part=part, at=at, kind=PartEventKind.PHOTO, photo=name))
        other = keep(store, records.failed(part="P0002")).part.id
        store.part_event(PartEvent(part=other, at=at, kind=PartEventKind.JOINED, name=other, into=part))
        return store.head()

    return put


def campaign(backend: str, seed: int, most: int, folder: Path) -> Seen:
    """At most so many tampers of each kind, drawn by the seed; each on a copy of one store."""
    chance, seen, put = random.Random(seed), Seen(), filled(folder)
    where, head = databases.filled(backend, folder, put)
    source_photos = _photos(databases.copied_from(backend, put))
    with databases.behind(where) as plain:
        all_of = {kind: list(tampers(plain)) for kind, tampers in KINDS.items()}
    for kind, tampers in all_of.items():
        for tamper in tampers if len(tampers) <= most else chance.sample(tampers, most):
            where, _ = databases.filled(backend, folder, put)
            photos = _photos(where)
            shutil.copytree(source_photos, photos)
            try_one(where, tamper, kind, head, seen)
            shutil.rmtree(photos)
            databases.drop(where)
    return seen


def _photos(where: str) -> Path:
    with Store.open(where) as store:
        return store.photos


def main() -> int:
    """The campaign as a command."""
    more = parser(__doc__ or "", parts=100_000)
    more.add_argument("--backend", choices=databases.BACKENDS, default="sqlite")
    given = more.parse_args()
    with tempfile.TemporaryDirectory(prefix="pulldrop-tamper-") as made:
        seen = campaign(given.backend, given.seed, given.parts, Path(made))
    tried = sum(seen.kinds[kind] for kind in KINDS)
    print(f"{given.backend}: {tried} tampers ({', '.join(f'{count} {kind}' for kind, count in seen.kinds.items())}).")
    for what in ("unseen", "unnamed", "broke"):
        for line in getattr(seen, what):
            print(f"- {what}: {line}")
    goals: list[AnyGoal] = [Goal(what, len(getattr(seen, what)), high=0) for what in ("unseen", "unnamed", "broke")]
    return close("tamper", given, [Goal("tampers", tried, low=1), *goals])


if __name__ == "__main__":
    sys.exit(main())
