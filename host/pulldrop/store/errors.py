"""What can go wrong with the history, as sentences: what, where, what was expected, what to do next."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError


class StoreError(Exception):
    """Base of everything that the store raises on purpose."""


class NotKept(StoreError):
    """A part or run was asked for that the store does not hold."""


class PartRefused(StoreError):
    """The part's id cannot be used: not writable by pen, or it would mix real and simulated runs."""


class CrateRefused(StoreError):
    """The crate's name cannot be used, or somebody else sorts this crate at the same time."""


class StoreTrouble(StoreError):
    """The store cannot be opened, read or written. `rescue` names the file that keeps the record so far."""

    def __init__(self, message: str, rescue: Path | None = None) -> None:
        super().__init__(message)
        self.rescue = rescue


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


def explain(store: str, error: sqlite3.Error) -> StoreTrouble:
    """SQLite's complaint about `store` as a sentence for a person."""
    name = getattr(error, "sqlite_errorname", "")
    for beginning, cause, then in CAUSES:
        if name.startswith(beginning):
            return StoreTrouble(f"The store {store} cannot be used: {cause} ({error}). {then}")
    return StoreTrouble(
        f"The store {store} cannot be used: {error}. Keep a copy of it, or begin a new one with --store."
    )


def damaged(store: str, what: str, error: Exception) -> StoreTrouble:
    """For data that open well and make no sense."""
    reason = str(error).splitlines()[0] if str(error) else type(error).__name__
    return StoreTrouble(
        f"The store {store} is damaged: {what} cannot be read back ({reason}). It was changed by something other than "
        "pulldrop, or the disk fails; keep a copy of it and bring back a backup."
    )


@contextmanager
def explained(store: str) -> Iterator[None]:
    """Within, every complaint of SQLite leaves as StoreTrouble; a broken rule of our own tables leaves as it is."""
    try:
        yield
    except sqlite3.Error as error:
        raise explain(store, error) from error
    except DBAPIError as error:
        if isinstance(error.orig, sqlite3.IntegrityError) or not isinstance(error.orig, sqlite3.Error):
            raise
        raise explain(store, error.orig) from error
