"""Which version the tables of a store have: made when it is new, brought up to date step by step when it is older.

Rule: all steps that a store lacks are one transaction; a later store, and another program's database, are refused.
"""

import sqlite3
from collections.abc import Callable

from sqlalchemy import Connection, Engine

from pulldrop.store.database import heads
from pulldrop.store.database.guards import guard
from pulldrop.store.database.place import VERSION_TABLE, StorePlace, engine_for, no_store, writing
from pulldrop.store.database.tables import APPLICATION, RECORDS, metadata
from pulldrop.store.errors import AT, StoreTrouble, explained
from pulldrop.store.sums import summary
from pulldrop.store.sums.tables import metadata as sums

STEPS: tuple[Callable[[Connection], None], ...] = ()
"""The first makes version 2 of version 1, the next version 3, and so on. Rule: a step alters no kept row, names itself
the columns and tables that it makes, since those in `tables.py` go on, and guards its tables. Working sums need none.
"""
MARKS = ("application_id", "user_version")
"""What says in a SQLite file what VERSION_TABLE says on PostgreSQL."""


def newest() -> int:
    """The version of `tables.py`."""
    return 1 + len(STEPS)


def connect(place: StorePlace, make: bool = True) -> Engine:
    """An engine on a store of this version, created when there is none. Raises StoreTrouble.

    Without `make` it is one to look with: it raises NoStore where there is no store, and writes nothing.
    """
    engine = engine_for(place, make)
    try:
        with explained(place.name):
            looked = _check(engine, place, make)
    except BaseException:
        engine.dispose()
        raise
    if looked:
        return engine
    engine.dispose()
    return connect(place)  # it is of an earlier version, and must grow to be read


def found(connection: Connection) -> int | None:
    """The version of the tables, 0 for an empty database, None for one of another program."""
    if connection.dialect.name == "postgresql":
        return _found_on_postgres(connection)
    application, version = (connection.exec_driver_sql(f"PRAGMA {name}").scalar_one() for name in MARKS)
    if application == APPLICATION and version >= 0:  # SQLite's number has a sign, and no version of ours is below 0
        return int(version)
    return None if _holds(connection) or application else 0


def _found_on_postgres(connection: Connection) -> int | None:
    if connection.exec_driver_sql(f"SELECT to_regclass('{VERSION_TABLE}')").scalar_one() is not None:
        versions = connection.exec_driver_sql(f"SELECT version FROM {VERSION_TABLE}").scalars().all()
        return int(versions[0]) if len(versions) == 1 else None
    return None if _holds(connection) else 0


def _holds(connection: Connection) -> bool:
    """Whether there are tables, whoever made them."""
    on_server = connection.dialect.name == "postgresql"
    here = "pg_tables WHERE schemaname = current_schema()" if on_server else "sqlite_master"
    return bool(connection.exec_driver_sql(f"SELECT count(*) FROM {here}").scalar_one())


def _check(engine: Engine, place: StorePlace, make: bool) -> bool:
    """Whether the store can be used as it is, now."""
    name = place.name
    with engine.connect() as connection:
        version = found(connection)
        if version == 0 and _holds(connection):
            raise StoreTrouble(
                f"The store{AT} has its tables, but the mark of its version is damaged: it is 0, as in an empty "
                f"file, and {newest()} was expected. Keep a copy of it, and bring back a backup.",
                place=name,
            )
    if not make and version == 0 and (place.file is not None or place.on_server):
        raise no_store(place)
    if version is None:
        raise StoreTrouble(
            f"The database{AT} belongs to another program; a pulldrop store was expected. "
            "Name another file with --store.",
            place=name,
        )
    if version > newest():
        raise StoreTrouble(
            f"The store{AT} was written by a later pulldrop (version {version} of the tables; this one knows "
            f"{newest()}). Install the later pulldrop, or name another store with --store.",
            place=name,
        )
    if version < newest():
        if not make and place.file is not None:
            return False
        if version == 0:
            heads.warn_of_former(place)
        _keep_log(engine)
        with writing(engine).begin() as connection:
            _bring_up(connection)
    return True


def _keep_log(engine: Engine) -> None:
    """SQLite writes ahead into a log, so that readers never wait; not possible inside a transaction."""
    if engine.dialect.name != "sqlite":
        return
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        connection.rollback()
        raw.execute("PRAGMA journal_mode = WAL")


def _bring_up(connection: Connection) -> None:
    """To the newest version, unless another program was quicker; the connection is one for writing."""
    version = found(connection)
    if version is None or version >= newest():
        return
    if version == 0:
        create(connection)
        return
    for step in STEPS[version - 1 :]:
        step(connection)
    summary.remake(connection)
    _mark(connection)


def create(connection: Connection) -> None:
    """Everything of a new store, in a database that is empty."""
    metadata.create_all(connection, checkfirst=False)
    sums.create_all(connection, checkfirst=False)
    guard(connection, RECORDS)
    _mark(connection)


def _mark(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        for name, value in zip(MARKS, (APPLICATION, newest()), strict=True):
            connection.exec_driver_sql(f"PRAGMA {name} = {value}")
        return
    connection.exec_driver_sql(f"CREATE TABLE IF NOT EXISTS {VERSION_TABLE} (version INTEGER NOT NULL)")
    connection.exec_driver_sql(f"TRUNCATE {VERSION_TABLE}")  # a publication of all tables refuses DELETE without a key
    connection.exec_driver_sql(f"INSERT INTO {VERSION_TABLE} VALUES ({newest()})")
