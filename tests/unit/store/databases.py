"""A real PostgreSQL server for the tests, started at the first wish and gone with the tests; a way into a store behind
its back; an invented later version. Rule: every test has a database of its own.
"""

import atexit
import itertools
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Column, Connection, MetaData, Table, create_engine
from sqlalchemy.pool import NullPool

from pulldrop.store import Store
from pulldrop.store.database.guards import guard
from pulldrop.store.database.place import locate
from pulldrop.store.database.tables import TEXT

BACKENDS = ("sqlite", "postgresql")
NUMBERS = itertools.count(1)
Made = TypeVar("Made")


def new(backend: str, folder: Path) -> str:
    """The address of a store: a file that is not there yet, or a database with a store's empty tables."""
    return empty(backend, folder) if backend == "sqlite" else _database(_template())


def empty(backend: str, folder: Path) -> str:
    """The address of a store that is not there yet."""
    return str(folder / f"depot{next(NUMBERS)}.db") if backend == "sqlite" else _database("template0")


def _database(template: str) -> str:
    name = f"depot{os.getpid()}n{next(NUMBERS)}"
    with _connected(server() + "/postgres") as connection:
        connection.exec_driver_sql(f"CREATE DATABASE {name} TEMPLATE {template}")
    return f"{server()}/{name}"


@cache
def _template() -> str:
    """A database to copy; making tables and triggers takes ten times as long."""
    made = _database("template0")
    Store.open(made).close()
    return made.rpartition("/")[2]


def filled(backend: str, folder: Path, fill: Callable[[Store], Made]) -> tuple[str, Made]:
    """The address of a store that holds what `fill` puts there, and what that gave: filled once, then copied."""
    where, given = _filled(backend, fill)
    if backend == "postgresql":
        return _database(where.rpartition("/")[2]), given
    return shutil.copyfile(where, empty(backend, folder)), given


def copied_from(backend: str, fill: Callable[[Store], Made]) -> str:
    """The store that `filled` copies."""
    return _filled(backend, fill)[0]


def drop(where: str) -> None:
    """Do away with a store that is of no more use."""
    if "://" not in where:
        for one in Path(where).parent.glob(f"{Path(where).name}*"):
            one.unlink()
        return
    with _connected(server() + "/postgres") as connection:
        connection.exec_driver_sql(f"DROP DATABASE {where.rpartition('/')[2]} WITH (FORCE)")


@cache
def _filled(backend: str, fill: Callable[[Store], Made]) -> tuple[str, Made]:
    folder = Path(tempfile.mkdtemp(prefix="pulldrop-filled-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    where = new(backend, folder)
    with Store.open(where) as store:
        return where, fill(store)


@contextmanager
def behind(where: str) -> Iterator[Connection]:
    """A connection that keeps none of the store's rules but those in the database itself."""
    with _connected(locate(where).url) as connection:
        yield connection


@contextmanager
def _connected(url: object) -> Iterator[Connection]:
    engine = create_engine(url, poolclass=NullPool, isolation_level="AUTOCOMMIT")  # type: ignore[arg-type]
    with engine.connect() as connection:
        yield connection
    engine.dispose()


@contextmanager
def unguarded(connection: Connection, *tables: str) -> Iterator[None]:
    """What somebody does who changes the past and leaves no trace: triggers and checks off, and on again."""
    if connection.dialect.name == "postgresql":
        for table in tables:
            connection.exec_driver_sql(f'ALTER TABLE "{table}" DISABLE TRIGGER ALL')
        yield
        for table in tables:
            connection.exec_driver_sql(f'ALTER TABLE "{table}" ENABLE TRIGGER ALL')
        return
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?"
    triggers = [row for table in tables for row in connection.exec_driver_sql(query, (table,)).fetchall()]
    for name, _ in triggers:
        connection.exec_driver_sql(f"DROP TRIGGER {name}")
    connection.exec_driver_sql("PRAGMA ignore_check_constraints = ON")
    yield
    connection.exec_driver_sql("PRAGMA ignore_check_constraints = OFF")
    for _, sql in triggers:
        connection.exec_driver_sql(sql)


def add_shelves(connection: Connection) -> None:
    """An invented step to version 2 of a store's tables: a column, and a table of its own."""
    connection.exec_driver_sql("ALTER TABLE part ADD COLUMN shelf TEXT")
    shelf = Table("shelf", MetaData(), Column("name", TEXT, primary_key=True))
    shelf.create(connection)
    guard(connection, (shelf,))


def altered(store: Store) -> list[str]:
    """What is not as it was written, but for that step, of which a new store has nothing."""
    said = store.verify().findings
    return [one for one in said if "shelf" not in one and one != "The table part was altered."]


@cache
def server() -> str:
    """URL of a server on this machine, without a database's name."""
    made = Server(Path(tempfile.mkdtemp(prefix="pulldrop-postgres-")))
    atexit.register(shutil.rmtree, made.folder, ignore_errors=True)
    atexit.register(made.stop)
    return made.url


class Server:
    """A cluster of its own in `folder`, started. Unless `durable`, it does not wait for the disk."""

    def __init__(self, folder: Path, durable: bool = False) -> None:
        self.folder, self._durable, self._port = folder, durable, _free_port()
        self.url = f"postgresql+psycopg://depot@127.0.0.1:{self._port}"
        folder.mkdir(exist_ok=True)
        folder.chmod(0o777)
        _as_ordinary("initdb", "-D", folder / "data", "-U", "depot", "--auth=trust", "--encoding=UTF8",
                     "--locale=C.UTF-8", "--no-sync")  # fmt: skip
        self.start()

    def start(self) -> None:
        settings = f"-p {self._port} -k '' -c listen_addresses=127.0.0.1 -c max_connections=50"
        if not self._durable:
            settings += " -c fsync=off -c full_page_writes=off"
        _as_ordinary("pg_ctl", "-D", self.folder / "data", "-w", "-o", settings, "-l", self.folder / "log", "start")

    def stop(self) -> None:
        _as_ordinary("pg_ctl", "-D", self.folder / "data", "-w", "-m", "immediate", "stop")

    crash = stop
    """`immediate` is a crash to the server: it writes nothing more, and recovers at its next start."""

    def database(self) -> str:
        """The URL of a database for everything that needs only one."""
        return self.url + "/postgres"


def _as_ordinary(program: str, *arguments: object) -> None:
    """The server's programs refuse the superuser, so he becomes the user whom Debian made for them."""
    found = max(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), default=None) or shutil.which(program)
    assert found, f"{program} was not found; install the Debian package postgresql"
    user = pwd.getpwnam("postgres") if os.geteuid() == 0 else None
    who = dict(user=user.pw_uid, group=user.pw_gid, extra_groups=[]) if user else {}
    command = [str(found), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, cwd="/", **who)  # type: ignore[call-overload]
    assert done.returncode == 0, done.stdout + done.stderr


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
