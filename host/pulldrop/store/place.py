"""Where the store is, and the connection to it: opened, checked for its version, created when it is new."""

import sqlite3
from pathlib import Path

from platformdirs import user_data_path
from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import ConnectionPoolEntry, StaticPool

from pulldrop.store.errors import StoreTrouble, explained
from pulldrop.store.tables import APPLICATION, SINCE_VERSION, VERSION, guards, metadata

LOCK_WAIT_S = 5.0
"""How long to wait for another program to let go of the store before that is called trouble."""


def locate(where: str | None) -> Path | None:
    """The store's file, None for one in memory. `where` is None (the platform's data folder), a path or a URL."""
    if where is None:
        return _usual()
    if where == ":memory:":
        return None
    if "://" not in where:
        return Path(where).expanduser()
    try:
        url = make_url(where)
    except ArgumentError:
        raise StoreTrouble(
            f"'{where}' is not a store: expected a file, or a URL such as sqlite:///relays.db."
        ) from None
    if url.get_backend_name() != "sqlite" or url.query:
        raise StoreTrouble(
            f"'{where}' is not a store that this version can use: expected a file, or a URL such as "
            "sqlite:///relays.db without options."
        )
    return Path(url.database) if url.database and url.database != ":memory:" else None


def _usual() -> Path:
    folder = user_data_path("pulldrop", appauthor=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreTrouble(
            f"The folder {folder} for the store cannot be made ({error.strerror}). Mend that, or use --store FILE."
        ) from error
    return folder / "store.db"


def connect(file: Path | None) -> Engine:
    """An engine on a store of this version, created when there is none. Raises StoreTrouble."""
    if file is not None:
        _check_place(file)
    engine = _engine(file)
    try:
        with explained(str(file or "in memory")):
            _check_version(engine, str(file or "in memory"))
    except BaseException:
        engine.dispose()
        raise
    return engine


def writing(engine: Engine) -> Engine:
    """The same engine for writing: takes the lock at the beginning, so that what it reads stays true."""
    return engine.execution_options(begin="BEGIN IMMEDIATE")


def _check_place(file: Path) -> None:
    try:
        is_folder, has_folder = file.is_dir(), file.parent.is_dir()
    except OSError as error:
        raise StoreTrouble(
            f"The store {file} cannot be looked at ({error.strerror}). Name another with --store."
        ) from error
    if is_folder:
        raise StoreTrouble(f"The store {file} is a folder; a file was expected. Name a file in it with --store.")
    if not has_folder:
        raise StoreTrouble(
            f"The store {file} cannot be made: there is no folder {file.parent}. Make it, or use --store."
        )


def _engine(file: Path | None) -> Engine:
    if file is None:
        engine = create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    else:
        engine = create_engine(URL.create("sqlite", database=str(file)), connect_args={"timeout": LOCK_WAIT_S})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: sqlite3.Connection, _: ConnectionPoolEntry) -> None:
    # FULL: what was acknowledged survives a power cut, not only a killed program (sqlite.org, PRAGMA synchronous).
    connection.isolation_level = None  # transactions begin where _begin says, not where the driver guesses
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))


def _check_version(engine: Engine, name: str) -> None:
    with engine.connect() as connection:
        application, version = _marks(connection)
        tables = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()
    if application == APPLICATION and version > VERSION:
        raise StoreTrouble(
            f"The store {name} was written by a later pulldrop (version {version} of the tables; this one knows "
            f"{VERSION}). Install the later pulldrop, or name another store with --store."
        )
    if application == APPLICATION and version == VERSION:
        return
    if application == APPLICATION and version in SINCE_VERSION:
        _grow(engine)
        return
    if tables or application:
        raise StoreTrouble(
            f"The database {name} belongs to another program; a pulldrop store was expected. "
            "Name another file with --store."
        )
    _create(engine)


def _marks(connection: Connection) -> tuple[int, int]:
    application = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
    return int(application), int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())


def _create(engine: Engine) -> None:
    """All tables, triggers and marks in one transaction; another program may have been quicker."""
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        connection.rollback()
        raw.execute("PRAGMA journal_mode = WAL")  # readers never wait for the run; not possible inside a transaction
    with writing(engine).begin() as connection:
        if _marks(connection) == (APPLICATION, VERSION):
            return
        metadata.create_all(connection, checkfirst=False)
        for guard in guards(metadata.tables.values()):
            connection.exec_driver_sql(guard)
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION}")
        connection.exec_driver_sql(f"PRAGMA user_version = {VERSION}")


def _grow(engine: Engine) -> None:
    """The tables that an older store lacks, in one transaction; what it holds stays as it is."""
    with writing(engine).begin() as connection:
        _, version = _marks(connection)
        lacking = [table for since, tables in SINCE_VERSION.items() if since > version for table in tables]
        metadata.create_all(connection, tables=lacking, checkfirst=False)
        for guard in guards(lacking):
            connection.exec_driver_sql(guard)
        connection.exec_driver_sql(f"PRAGMA user_version = {VERSION}")
