"""Backup of a whole store into one SQLite file, and restoring a store from it.

Rule: a source is never changed, and nothing is overwritten: what must make room is copied aside, then replaced in one
step, so that a restore that is killed anywhere loses no run.
"""

import glob
import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import chain, count
from pathlib import Path

from sqlalchemy import insert, select

from pulldrop.store.admin.verify import Verified
from pulldrop.store.database import heads, tables
from pulldrop.store.database.place import ASIDE, StorePlace, connect, locate, photo_folder, writing
from pulldrop.store.errors import AT, StoreError, StoreTrouble, explained
from pulldrop.store.exchange.copies import (
    bring_photos,
    copy_sqlite,
    drop_photos,
    is_sqlite,
    opened_source,
    photos_beside,
    photos_of,
)
from pulldrop.store.exchange.records_file import FileRefused
from pulldrop.store.store import Store
from pulldrop.store.sums import summary
from pulldrop.whole import clear, whole

ROWS_AT_ONCE = 1000


@dataclass(frozen=True, slots=True)
class Copied:
    """A store that was backed up or restored: the head of its chain, and where a former store was moved to.

    `lacks`: what could not be done beside it, a sentence each: photos that events name, the head to be noted.
    `vouched`: False where neither a person nor this computer had noted a head with which to compare a backup.
    """

    head: str
    aside: Path | None = None
    lacks: tuple[str, ...] = ()
    vouched: bool = True


def backup(store: Store, file: Path) -> Copied:
    """Write the whole store, as it is at this moment, into a new SQLite file."""
    _must_be_new(file)
    with _whole(file) as half:
        if store.file is not None:
            copy_sqlite(store.file, half, store.name, file)
        else:
            with Store.open(str(half)) as copy:
                _copy_rows(store, copy)
        with Store.open(str(half)) as copy:
            head, photos = copy.head(), photos_of(copy)
        lacks = bring_photos(store.place, locate(str(file)), photos)  # first, so that a backup that is there is whole
    return Copied(head, lacks=lacks)


def restore(file: Path, place: StorePlace, replace: bool, now: datetime, noted: str = "") -> Copied:
    """Make `file` the store at `place`.

    The backup is held first against its chain, and against the head that a person `noted` of it, or the one that is
    noted of that place. Raises FileRefused when there are runs and `replace` is not said.
    """
    if not is_sqlite(file):
        raise FileRefused(f"The file {file} is not a backup of a store; a SQLite file was expected.")
    vouched = bool(noted or heads.noted(place))
    if place.on_server:
        head, photos = _restore_on_server(file, place, noted)
        lacks = bring_photos(locate(str(file)), place, photos)
        return Copied(head, None, (*lacks, *_note(place, head)), vouched)
    if place.file is None:
        raise FileRefused("A store in memory cannot be restored. Name a file with --store.")
    if place.file.exists() and not replace:
        raise FileRefused(
            f"There is a store {place.file} already. To move it aside and put the backup in its place, say --replace; "
            "to bring in what it lacks, use: pulldrop store import"
        )
    with ExitStack() as until_replaced, _whole(place.file) as half:
        copy_sqlite(file, half, str(file), place.file)
        with Store.open(str(half)) as copy:
            head, photos = _must_be_whole(copy, file, place, noted), photos_of(copy)
        aside = _copy_aside(place, now, until_replaced) if place.file.exists() else None
        lacks = bring_photos(locate(str(file)), place, photos)
    if aside:
        drop_photos(place, photos_beside(locate(str(aside))) - photos)
    return Copied(head, aside, (*lacks, *_note(place, head)), vouched)


def _note(place: StorePlace, head: str) -> tuple[str, ...]:
    """Note the head of what was restored; says why it cannot be noted."""
    try:
        heads.note(place, head)
    except StoreTrouble as trouble:
        return (f"Its head is not noted in this computer's data folder. {trouble}",)
    return ()


def _restore_on_server(file: Path, place: StorePlace, noted: str) -> tuple[str, frozenset[str]]:
    with opened_source(str(file)) as copy, Store.open(place.url.render_as_string(hide_password=False)) as store:
        if store.info().entries:
            raise FileRefused(
                f"The store {place.name} is not empty, and a server's store cannot be moved aside here. Name an empty "
                "database; to bring in what this one lacks, use: pulldrop store import"
            )
        _must_be_whole(copy, file, place, noted)
        _copy_rows(copy, store)
        return store.head(), photos_of(store)


def _must_be_new(file: Path) -> None:
    if file.exists():
        raise FileRefused(f"The file {file} is there already, and a backup overwrites nothing. Choose another name.")
    if not file.parent.is_dir():
        raise FileRefused(f"There is no folder {file.parent}. Make it, or choose another name.")


def _must_be_whole(copy: Store, file: Path, place: StorePlace, noted: str) -> str:
    """The head of a backup that holds, and is of the store at `place` or has the head that a person noted."""
    found = copy.verify()
    if bad := _about_records(found):
        raise FileRefused(
            f"The backup {file} is not what was written ({len(bad)} findings, the first: "
            f"{bad[0]}) Nothing was restored. Take another backup, or look at it with: pulldrop store "
            "verify --store FILE"
        )
    before = noted or heads.noted(place)
    with copy.reading("the chain") as connection:
        other = list(heads.against(connection, before)) if before else []
    if before and not other:
        other = list(_beyond(found.head, before))
    if other and (noted or not _contains(place, found.head)):
        raise FileRefused(
            f"The backup {file} does not end with the head {before:.80}, so nothing vouches for it: {other[0]} "
            "Nothing was restored. If it is the right one, name its head as 'store backup' printed it: --head N:HASH"
        )
    return found.head


def _beyond(head: str, noted: str) -> Iterator[str]:
    """What was written behind a noted head is vouched for by nothing."""
    more = int(head.partition(":")[0]) - int(noted.strip().partition(":")[0])
    if more > 0:
        yield f"{more} entries were written behind it."


def _about_records(found: Verified) -> list[str]:
    """What verifying found besides photos."""
    return [said for said, of in zip(found.findings, found.where, strict=True) if of[:1] != ("photo",)]


def _contains(place: StorePlace, head: str) -> bool:
    """Whether the store at `place` holds, also against the head that is noted of it, and once had this head."""
    if place.file is None:  # a server's store is restored only where it is empty
        return False
    try:
        with Store.look(str(place.file)) as store:
            return not _about_records(store.verify(head))
    except StoreError:
        return False


def _copy_aside(place: StorePlace, now: datetime, until_replaced: ExitStack) -> Path:
    """Copy the store with its log and photos to a name that says when; nobody else can open it until it is replaced.

    Its log is written back first, and there is none any more when this returns. Raises StoreTrouble while another
    program has it open.
    """
    file, photos = place.file, photo_folder(place)
    assert file is not None and photos is not None
    clear(file.parent, f"{glob.escape(file.stem)}{ASIDE}*")
    named = f"{file.stem}{ASIDE}{now.astimezone(UTC):%Y%m%dT%H%M%S}"
    names = (file.with_name(f"{named}{more}{file.suffix}") for more in chain([""], (f"-{n}" for n in count(2))))
    aside = next(one for one in names if not one.exists())
    try:
        alone = until_replaced.enter_context(closing(connect(file)))
        alone.execute("PRAGMA locking_mode = EXCLUSIVE")
        alone.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        with whole(aside) as half, closing(sqlite3.connect(half)) as copy:
            alone.backup(copy)
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorname.startswith("SQLITE_BUSY"):
            raise StoreTrouble(
                f"The store{AT} cannot be replaced: another program has it open, such as a bench or a page. Close "
                "that, then restore again.",
                place=place.name,
            ) from error
        for ending in ("-wal", ""):  # a damaged one as it lies there
            if (old := file.with_name(file.name + ending)).exists():
                with whole(aside.with_name(aside.name + ending)) as half:
                    shutil.copyfile(old, half)
    if photos.exists() and (beside := photo_folder(locate(str(aside)))):
        shutil.copytree(photos, beside, symlinks=True, copy_function=_link)
    if os.name == "nt":
        until_replaced.close()  # a file that is open cannot be replaced there, so nobody else can have it open either
    for ending in ("-wal", "-shm"):
        file.with_name(file.name + ending).unlink(missing_ok=True)
    return aside


def _link(source: str, target: str) -> None:
    """A photo under a second name: it is never written to. Not every disk has links."""
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, target, follow_symlinks=False)


@contextmanager
def _whole(file: Path) -> Iterator[Path]:
    """See `whole`."""
    try:
        with whole(file) as half:
            yield half
    except OSError as error:
        raise StoreTrouble(
            f"The file {file} cannot be written ({error.strerror or error}). Check its disk and folder."
        ) from error


def _copy_rows(source: Store, target: Store) -> None:
    """Every record as it stands, its entry in the chain too, into a store that is empty."""
    with explained(source.name), source.engine.connect() as theirs, writing(target.engine).begin() as ours:
        for table in tables.RECORDS:
            rows = theirs.execution_options(yield_per=ROWS_AT_ONCE).execute(select(table)).mappings()
            for some in rows.partitions(ROWS_AT_ONCE):
                ours.execute(insert(table), [dict(row) for row in some])
        summary.remake(ours)
