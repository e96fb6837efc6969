"""A SQLite file and the photos of a store, as they are copied for an import, a backup and a restore.

Rule: a source is never changed.
"""

import sqlite3
import tempfile
from collections.abc import Iterator, Set
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from sqlalchemy import select

from pulldrop.store.database import tables
from pulldrop.store.database.place import StorePlace, locate, photo_folder, read_only
from pulldrop.store.errors import StoreTrouble, explained
from pulldrop.store.exchange.records_file import FileRefused
from pulldrop.store.records.part_events import carry_photos, photos_in
from pulldrop.store.store import Store

OF_WRITING = ("SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_FSYNC", "SQLITE_IOERR_TRUNCATE", "SQLITE_READONLY")
"""Errors of a copy that are those of the file that it goes to."""
SQLITE_HEAD = b"SQLite format 3\x00"


def is_sqlite(file: Path) -> bool:
    if file.exists() and not file.is_file():  # a pipe would be waited for
        raise FileRefused(f"{file} is no file. Name a file that holds records or a store.")
    try:
        with file.open("rb") as head:
            return head.read(len(SQLITE_HEAD)) == SQLITE_HEAD
    except OSError as error:
        raise FileRefused(f"The file {file} cannot be read ({error.strerror}). Check its name.") from error


@contextmanager
def opened_source(source: str) -> Iterator[Store]:
    """Another store to read from. A file is read from a copy, which may be brought up to date without harm."""
    place = locate(source)
    if place.file is None:
        with Store.look(source) as other:
            yield other
        return
    with tempfile.TemporaryDirectory(prefix="pulldrop-") as folder:
        copy = Path(folder) / place.file.name
        copy_sqlite(place.file, copy, place.name, copy)
        try:
            other = Store.look(str(copy))
        except StoreTrouble as trouble:  # the copy is gone before anybody could look at it
            raise StoreTrouble(trouble.said, place=place.name) from trouble
        with other:
            yield other


def copy_sqlite(source: Path, target: Path, source_name: str, becomes: Path) -> None:
    """One moment of a SQLite database, also while others write into it. The two names stand in what is said."""
    if not source.is_file():
        raise FileRefused(f"There is no file {source}. Check its name.")
    with explained(source_name):
        try:
            with closing(read_only(source)) as one, closing(sqlite3.connect(target)) as other:
                one.backup(other)
        except sqlite3.Error as error:
            if not getattr(error, "sqlite_errorname", "").startswith(OF_WRITING):
                raise
            raise StoreTrouble(
                f"The file {becomes} cannot be written ({error}). Free some space on its disk, or choose another."
            ) from error


def bring_photos(source: StorePlace, target: StorePlace, names: Set[str]) -> tuple[str, ...]:
    """Photos go where their store goes; says of each that does not, why."""
    there, here = photo_folder(source), photo_folder(target)
    return carry_photos(there, here, names) if there is not None and here is not None else ()


def photos_of(store: Store) -> frozenset[str]:
    with store.reading("what happened to parts") as connection:
        return photos_in(connection.execute(select(tables.part_event.c.body)).scalars())


def photos_beside(place: StorePlace) -> frozenset[str]:
    """The names of the files that lie in a store's photo folder."""
    folder = photo_folder(place)
    there = folder.iterdir() if folder is not None and folder.is_dir() else ()
    return frozenset(one.name for one in there if one.is_symlink() or not one.is_dir())


def drop_photos(place: StorePlace, names: Set[str]) -> None:
    """These photos, which lie elsewhere too, go from the store's folder. One that cannot go harms nothing."""
    if names and (folder := photo_folder(place)):
        with suppress(OSError):
            for name in names:
                (folder / name).unlink(missing_ok=True)
            folder.rmdir()  # if none is left
