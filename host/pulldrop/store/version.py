"""Which version of the tables a store has: made when it is new, brought up to date when it is old.

Rule: a store that is up to date is opened without loading the migrations.
"""

import sqlite3

from sqlalchemy import Connection, Engine

from pulldrop.store import summary, tables
from pulldrop.store.errors import StoreTrouble, explained
from pulldrop.store.guards import guard
from pulldrop.store.place import Place, engine_for, writing
from pulldrop.store.sums import metadata as sums
from pulldrop.store.tables import APPLICATION, RECORDS, VERSION, VERSION_TABLE, metadata


def connect(place: Place) -> Engine:
    """An engine on a store of this version, created when there is none. Raises StoreTrouble."""
    engine = engine_for(place)
    try:
        with explained(place.name):
            _check(engine, place.name)
    except BaseException:
        engine.dispose()
        raise
    return engine


def found(connection: Connection) -> int | None:
    """The version of the tables, 0 for an empty database, None for one of another program."""
    if connection.dialect.name == "postgresql":
        return _found_on_postgres(connection)
    application, version = (connection.exec_driver_sql(f"PRAGMA {name}").scalar_one() for name in MARKS)
    if application == APPLICATION:
        return int(version)
    holds = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()
    return None if holds or application else 0


MARKS = ("application_id", "user_version")


def _found_on_postgres(connection: Connection) -> int | None:
    if connection.exec_driver_sql(f"SELECT to_regclass('{VERSION_TABLE}')").scalar_one() is not None:
        return int(connection.exec_driver_sql(f"SELECT version_num FROM {VERSION_TABLE}").scalar_one())
    here = "SELECT count(*) FROM pg_tables WHERE schemaname = current_schema()"
    return None if connection.exec_driver_sql(here).scalar_one() else 0


def _check(engine: Engine, name: str) -> None:
    with engine.connect() as connection:
        version = found(connection)
    if version is None:
        raise StoreTrouble(
            f"The database {name} belongs to another program; a pulldrop store was expected. "
            "Name another file with --store."
        )
    if version > VERSION:
        raise StoreTrouble(
            f"The store {name} was written by a later pulldrop (version {version} of the tables; this one knows "
            f"{VERSION}). Install the later pulldrop, or name another store with --store."
        )
    if version == 0:
        _create(engine)
    elif version < VERSION:
        _grow(engine)


def _create(engine: Engine) -> None:
    """All tables, triggers and marks in one transaction; another program may have been quicker."""
    _keep_log(engine)
    with writing(engine).begin() as connection:
        if found(connection):
            return
        metadata.create_all(connection, checkfirst=False)
        sums.create_all(connection, checkfirst=False)
        guard(connection, RECORDS)
        connection.exec_driver_sql(
            f"CREATE TABLE {VERSION_TABLE} (version_num VARCHAR(32) NOT NULL, "  # as Alembic would make it
            f"CONSTRAINT {VERSION_TABLE}_pkc PRIMARY KEY (version_num))"
        )
        connection.exec_driver_sql(f"INSERT INTO {VERSION_TABLE} VALUES ('{VERSION:04d}')")
        _mark(connection)


def _keep_log(engine: Engine) -> None:
    """SQLite writes ahead into a log, so that readers never wait; not possible inside a transaction."""
    if engine.dialect.name != "sqlite":
        return
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        connection.rollback()
        raw.execute("PRAGMA journal_mode = WAL")


def _grow(engine: Engine) -> None:
    """Bring an older store up to date in one transaction; what it holds stays as it is."""
    _keep_log(engine)
    with writing(engine).begin() as connection:
        version = found(connection)
        if version is None or version >= VERSION:  # another program was quicker
            return
        from pulldrop.store.migrate import upgrade  # a quarter of a second that nobody else pays

        upgrade(connection, version)
        summary.remake(connection)
        _mark(connection)


def _mark(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION}")
        connection.exec_driver_sql(f"PRAGMA user_version = {tables.VERSION}")
