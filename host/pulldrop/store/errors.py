"""What can go wrong with the history, as sentences: what, where, what was expected, what to do next."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.exc import TimeoutError as PoolTimeout

AT = "\ue000"
"""Stands in a sentence where the name of the store comes, with a blank before it."""


class StoreError(Exception):
    """Base of everything that the store raises on purpose. `place`: the name of the store that the sentence says."""

    def __init__(self, said: str, place: str = "") -> None:
        self.said, self.place = said, place
        super().__init__(self.at(place))

    def at(self, place: str) -> str:
        """The sentence with another name for the store; with "" for whoever need not know where it is."""
        return self.said.replace(AT, f" {place}" if place else "")


class NotKept(StoreError):
    """A part or run was asked for that the store does not hold."""


class PartRefused(StoreError):
    """The part's id cannot be used: not writable by pen, or it would mix real and simulated runs."""


class CrateRefused(StoreError):
    """The crate's name cannot be used, or somebody else sorts this crate at the same time."""


class StoreTrouble(StoreError):
    """The store cannot be opened, read or written. `rescue` names the file that keeps the record so far."""

    def __init__(self, said: str, rescue: Path | None = None, place: str = "") -> None:
        super().__init__(said, place)
        self.rescue = rescue


class NoStore(StoreTrouble):
    """There is no store yet at a place that was only looked at."""


CAUSES = (
    ("SQLITE_FULL", "the disk is full, or its quota is used up", "Free some space, or name another disk with --store."),
    (
        "SQLITE_READONLY",
        "it is read-only",
        "A store must be writable: give yourself the right to write, or use --store.",
    ),
    ("SQLITE_PERM", "access is refused", "A store must be writable: give yourself the right to write, or use --store."),
    (
        "SQLITE_CANTOPEN",
        "it cannot be opened or created there",
        "Its folder must be writable: mend that, or use --store.",
    ),
    ("SQLITE_BUSY", "another program holds it locked", "Close the other program, then try again."),
    ("SQLITE_LOCKED", "another program holds it locked", "Close the other program, then try again."),
    (
        "SQLITE_NOTADB",
        "it is not a database",
        "A SQLite file was expected: check the name, or begin a new one with --store.",
    ),
    ("SQLITE_CORRUPT", "it is damaged", "Keep a copy of it, bring back a backup, or begin a new one with --store."),
    ("SQLITE_IOERR", "the disk does not take or give the data", "Check the disk and its space, or use --store."),
)
"""By the beginning of SQLite's own error name (sqlite.org, result and error codes): what it means, what to do."""


SERVER_CAUSES = (
    ("53100", "the server's disk is full", "Free some space on the server."),
    ("53300", "the server takes no more connections", "Close other programs, or raise max_connections."),
    ("53", "the server is short of memory or space", "See to the server, then try again."),
    ("55P03", "another program holds it locked", "Close the other program, then try again."),
    ("25006", "it is read-only", "A store must be writable: name the main server, not a copy of it."),
    ("28", "the server does not know this user or password", "Check user and password in the URL of --store."),
    ("3D000", "the server has no database of that name", "Make it (createdb), or correct the URL of --store."),
    ("42501", "access is refused", "The user needs the right to create and fill tables there."),
    ("57P", "the server is shutting down", "Start it again, then try again."),
    ("XX", "the server reports damaged data", "Bring back a backup."),
    ("58", "the server's disk does not take or give the data", "Check the server's disk and its space."),
    ("22", "the server cannot keep such a value", "Look for odd characters in what was typed."),
)
"""By the beginning of the SQLSTATE (PostgreSQL, appendix A, error codes): what it means, what to do."""


def explain(store: str, error: BaseException) -> StoreTrouble:
    """A database's complaint about `store` as a sentence for a person."""
    code = getattr(error, "sqlstate", None)
    causes: tuple[tuple[str, str, str], ...]
    if isinstance(error, sqlite3.Error):
        causes, name = CAUSES, getattr(error, "sqlite_errorname", "")
        if str(error).startswith("Could not decode"):  # a hole in a text; Python's own complaint, without a name
            name = "SQLITE_CORRUPT"
        then = "Keep a copy of it, or begin a new one with --store."
    else:
        causes, name = SERVER_CAUSES, code or ""
        then = "Check that the server runs and can be reached, and the URL of --store."
    said = " ".join(str(error).split())[:SAID_MOST].rstrip(".")
    for beginning, cause, advice in causes:
        if name.startswith(beginning):
            return StoreTrouble(f"The store{AT} cannot be used: {cause} ({said}). {advice}", place=store)
    return StoreTrouble(f"The store{AT} cannot be used: {said}. {then}", place=store)


SAID_MOST = 200
"""Characters of a database's own words; a server that cannot be reached has a lot to say."""


class Damaged(StoreTrouble):
    """Data that open well and make no sense, for the `reason`."""

    def __init__(self, said: str, place: str, reason: str) -> None:
        super().__init__(said, place=place)
        self.reason = reason


def damaged(store: str, what: str, error: Exception) -> Damaged:
    """For data that open well and make no sense."""
    reason = str(error).splitlines()[0] if str(error) else type(error).__name__
    return Damaged(
        f"The store{AT} is damaged: {what} cannot be read back ({reason}). It was changed by something other than "
        "pulldrop, or the disk fails; keep a copy of it and bring back a backup.",
        store,
        reason,
    )


@contextmanager
def explained(store: str) -> Iterator[None]:
    """Within, every complaint of the database leaves as StoreTrouble; a broken rule of our tables leaves as it is."""
    try:
        yield
    except sqlite3.Error as error:
        raise explain(store, error) from error
    except DBAPIError as error:
        if isinstance(error, IntegrityError) or error.orig is None:
            raise
        raise explain(store, error.orig) from error
    except PoolTimeout as error:
        raise explain(store, error) from error
    except UnicodeDecodeError as error:  # what SQLite says of a damaged schema, in the schema's own bytes
        raise damaged(store, "its schema", error) from error
