"""Where a store is, and the connection to it. Rule: whoever writes has the store to himself while he does."""

import glob
import os
import re
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from platformdirs import user_data_path
from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import ConnectionPoolEntry, StaticPool

from pulldrop.store.database.tables import APPLICATION
from pulldrop.store.errors import AT, NoStore, StoreTrouble

CACHE_KIB = 65_536
"""What a connection may keep in memory; SQLite's usual 2 MB is less than 500 runs that are written together touch."""
LOCK_WAIT_S = 5.0
"""How long to wait for another program to let go of the store before that is called trouble."""
CONNECT_WAIT_S = 10
ASIDE = "-before-"
"""Stands in the name of what a restore put aside, between that of the store and the moment."""
VERSION_TABLE = "pulldrop_version"
"""Says on PostgreSQL which version the tables have, and by that where the store is."""
OWN_PATH = f"""SELECT pg_catalog.set_config('search_path', pg_catalog.format('%I, pg_temp', coalesce(
    (SELECT nspname FROM pg_catalog.pg_namespace n JOIN pg_catalog.pg_class c
     ON n.oid OPERATOR(pg_catalog.=) relnamespace
     WHERE c.oid OPERATOR(pg_catalog.=) pg_catalog.to_regclass('{VERSION_TABLE}')),
    pg_catalog.current_schema(), 'public')), false)"""
"""Only the schema of the store, behind the system's own, and before what a session makes for itself (PostgreSQL,
search_path): nothing of another schema can stand for a table, function or operator that a statement means.
"""
SIMULATED = "simulated"
"""Names the store of simulated runs, which keeps them apart from real ones."""
EXPECTED = "expected a file, sqlite:///relays.db, or postgresql+psycopg://user@host/relays"


@dataclass(frozen=True, slots=True)
class StorePlace:
    """A store's address. `file` is None for one in memory or on a server; `name` shows no password."""

    url: URL
    file: Path | None
    name: str

    @property
    def on_server(self) -> bool:
        return self.url.get_backend_name() == "postgresql"


def locate(where: str | None, make: bool = True) -> StorePlace:
    """`where` is None (the platform's data folder), SIMULATED (there too), a path, a URL of SQLite or PostgreSQL, or
    ":memory:".

    Without `make` that folder is not made.
    """
    if where in (None, SIMULATED):
        return at_file(usual_folder(make) / f"{where or 'store'}.db")
    if where == ":memory:":
        return StorePlace(URL.create("sqlite"), None, "in memory")
    try:
        if "://" not in where:
            return at_file(Path(where).expanduser())
        url = make_url(where)
    except (ArgumentError, ValueError, RuntimeError):  # no URL, no number of a port, nobody's home
        shown = re.sub("://.*@", "://***@", where)  # without a password
        raise StoreTrouble(f"'{shown}' is not a store: {EXPECTED}.") from None
    if url.drivername in ("postgresql", "postgresql+psycopg") and url.database:
        return StorePlace(url.set(drivername="postgresql+psycopg"), None, url.render_as_string())
    if url.get_backend_name() != "sqlite" or url.query:
        raise StoreTrouble(
            f"'{url.render_as_string()}' is not a store that this version can use: {EXPECTED}; SQLite without options."
        )
    return at_file(Path(url.database)) if url.database and url.database != ":memory:" else locate(":memory:")


def at_file(file: Path) -> StorePlace:
    """A SQLite store in a file."""
    return StorePlace(URL.create("sqlite", database=str(file)), file, str(file))


def usual_folder(make: bool = True) -> Path:
    """The platform's data folder; without `make` it may not be there."""
    folder = user_data_path("pulldrop", appauthor=False)
    try:
        if make:
            folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreTrouble(
            f"The folder {folder} for the store cannot be made ({error.strerror}). Mend that, or use --store FILE."
        ) from error
    return folder


def engine_for(place: StorePlace, make: bool = True) -> Engine:
    """An engine, not yet connected; without `make` one that makes no file and writes into none. Raises StoreTrouble."""
    if place.on_server:
        return _postgres(place)
    there = None
    if place.file is not None:
        _check_place(place.file, make)
        there = place.file.stat() if place.file.is_file() else None
        size = there.st_size if there else None
        if size is None and not make:
            raise no_store(place)
        if size is not None and size < HEAD_BYTES and (size or not make):
            raise StoreTrouble(
                f"The store{AT} is not whole: the file has {size} bytes, and the head of a store alone has "
                f"{HEAD_BYTES}. Bring back a backup, or name another store with --store.",
                place=place.name,
            )
    engine = _sqlite(place, make)
    if place.file is not None:
        _watch(engine, place.file.absolute(), there)
    return engine


def no_store(place: StorePlace) -> NoStore:
    """Says that there is none."""
    says = f"There is no store{AT} yet. Check its name; the first test or import makes it. Try: pulldrop demo"
    if (file := place.file) and (aside := sorted(file.parent.glob(f"{glob.escape(file.stem + ASIDE)}*{file.suffix}"))):
        says = f"There is no store{AT}, but one that a restore put aside: {aside[-1]}. Look at it with --store."
    elif file and file == usual_folder(make=False) / "store.db" and file.with_stem(SIMULATED).is_file():
        says = f"There is no store{AT} yet; the first test of a real part makes it. Simulated runs: --store {SIMULATED}"
    return NoStore(says, place=place.name)


def writing(engine: Engine) -> Engine:
    """The same engine for writing: takes the lock at the beginning, so that what it reads stays true."""
    if engine.dialect.name == "postgresql":
        # READ COMMITTED: each statement sees what was committed before it, so also what the lock was waited for.
        return engine.execution_options(write=True, isolation_level="READ COMMITTED")
    return engine.execution_options(write=True)


def _check_place(file: Path, make: bool) -> None:
    try:
        is_folder, has_folder = file.is_dir(), file.parent.is_dir()
    except OSError as error:
        raise StoreTrouble(
            f"The store{AT} cannot be looked at ({error.strerror}). Name another with --store.", place=str(file)
        ) from error
    if is_folder:
        says = f"The store{AT} is a folder; a file was expected. Name a file in it with --store."
        raise StoreTrouble(says, place=str(file))
    if not has_folder and (make or file.parent.exists()):
        raise StoreTrouble(
            f"The store{AT} cannot be made: there is no folder {file.parent}. Make it, or use --store.", place=str(file)
        )


def read_only(file: Path) -> sqlite3.Connection:
    """A SQLite file to read from, on a medium too that takes no log beside it. Raises sqlite3.Error."""
    address = f"{file.absolute().as_uri()}?mode=ro"
    connection = sqlite3.connect(address, uri=True, timeout=LOCK_WAIT_S, check_same_thread=False)
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        return connection
    except sqlite3.OperationalError as error:
        connection.close()
        log = file.with_name(f"{file.name}-wal")
        if error.sqlite_errorname not in CANNOT_MAKE_LOG or (log.exists() and log.stat().st_size):
            raise
    return sqlite3.connect(f"{address}&immutable=1", uri=True, check_same_thread=False)


CANNOT_MAKE_LOG = ("SQLITE_CANTOPEN", "SQLITE_READONLY_DIRECTORY", "SQLITE_READONLY")
"""What SQLite says of a store with a log where no file can be made (sqlite.org, write-ahead logging, read-only)."""
HEAD_BYTES = 100
"""Of the head of a SQLite file (sqlite.org, database file format, 1.3)."""


def _sqlite(place: StorePlace, make: bool) -> Engine:
    file = place.file
    if file is not None and not make:
        engine = create_engine(place.url, creator=lambda: read_only(file))
    elif file is None:
        engine = create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    else:
        path = file.absolute()
        engine = create_engine(place.url, creator=lambda: connect(path))
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def connect(file: Path) -> sqlite3.Connection:
    """A SQLite file to write to."""
    return sqlite3.connect(file, timeout=LOCK_WAIT_S, check_same_thread=False)


def _watch(engine: Engine, file: Path, there: os.stat_result | None) -> None:
    """Each transaction first makes sure that the file is still the one that was `there` when the store was opened.

    SQLite itself would go on with a file that was moved or replaced, and nobody would find there what it wrote.
    """

    def look(_: Connection) -> None:
        nonlocal there
        try:
            now = file.stat()
        except OSError:
            now = None
        there = there or now  # made by the first connection
        if there is None or now is None or not os.path.samestat(there, now):
            raise StoreTrouble(
                f"The store{AT} was moved or replaced while it was open here. Nothing more was written into it. Begin "
                "again, with the store that is to be used.",
                place=str(file),
            )

    event.listen(engine, "begin", look)


def _prepare_sqlite(connection: sqlite3.Connection, _: ConnectionPoolEntry) -> None:
    # FULL: what was acknowledged survives a power cut, not only a killed program (sqlite.org, PRAGMA synchronous).
    # fullfsync: on macOS fsync alone leaves the data in the drive's cache (sqlite.org, PRAGMA fullfsync).
    connection.isolation_level = None  # transactions begin where _begin_sqlite says, not where the driver guesses
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA fullfsync = ON")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute(f"PRAGMA cache_size = -{CACHE_KIB}")


def _begin_sqlite(connection: Connection) -> None:
    write = connection.get_execution_options().get("write")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def _postgres(place: StorePlace) -> Engine:
    try:
        # REPEATABLE READ: a reader sees one moment, however many statements it needs.
        engine = create_engine(
            place.url,
            connect_args={"connect_timeout": CONNECT_WAIT_S},
            isolation_level="REPEATABLE READ",
            pool_pre_ping=True,
        )
    except ImportError as error:
        raise StoreTrouble(
            f"The store{AT} needs the package psycopg, which is not installed here ({error}). "
            "'pip install psycopg[binary]' brings it.",
            place=place.name,
        ) from error
    event.listen(engine, "connect", _prepare_postgres)
    event.listen(engine, "begin", _begin_postgres)
    return engine


def _prepare_postgres(connection: Any, _: ConnectionPoolEntry) -> None:
    # Servers may be set to acknowledge before the disk has it; this session is not.
    before, connection.autocommit = connection.autocommit, True
    connection.execute("SET synchronous_commit = on")
    connection.execute(f"SET lock_timeout = {round(LOCK_WAIT_S * 1000)}")
    connection.execute(OWN_PATH)
    if connection.execute("SHOW session_replication_role").fetchone() == ("replica",):  # no guard would fire
        connection.execute("SET session_replication_role = origin")  # refused to whoever may not
    connection.autocommit = before


def _begin_postgres(connection: Connection) -> None:
    if connection.get_execution_options().get("write"):
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({APPLICATION})")


def photo_folder(place: StorePlace) -> Path | None:
    """Where the photos of a store lie; None for one in memory, which has nowhere to keep them."""
    if place.file is not None:
        return place.file.with_name(f"{place.file.name}-photos")
    return usual_folder(make=False) / f"{place.url.database}-photos" if place.on_server else None
