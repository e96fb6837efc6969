"""Files that a store gives and takes: import of records and of whole stores, backup, restore.

Rule: a source is never changed, and nothing is overwritten; what must make room is moved aside.
"""

import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Sequence, Set
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import insert, select

from pulldrop.model.part.part import Part
from pulldrop.model.run.record import RunRecord
from pulldrop.store.admin.verify import Verified, verify
from pulldrop.store.database import heads, tables
from pulldrop.store.database.place import StorePlace, locate, photo_folder, read_only, writing
from pulldrop.store.errors import Damaged, StoreError, StoreTrouble, explained
from pulldrop.store.exchange import merge, others
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.doubts import of_source
from pulldrop.store.exchange.origins import Check, Checked, CheckJudgement, ImportResult, Origins
from pulldrop.store.exchange.records_file import FileRefused, records
from pulldrop.store.records.part_events import carry_photos, photos_in
from pulldrop.store.store import Store
from pulldrop.store.sums import summary
from pulldrop.whole import whole

ROWS_AT_ONCE = 1000
OF_WRITING = ("SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_FSYNC", "SQLITE_IOERR_TRUNCATE", "SQLITE_READONLY")
"""Errors of a copy that are those of the file that it goes to."""
SQLITE_HEAD = b"SQLite format 3\x00"


@dataclass(frozen=True, slots=True)
class Asked:
    """How to import. `same`: ids that mean one part here and there by a person's word, see `Arrivals`.

    check: judges each record that is new here again, check_judgement each later judgement of a run; head: of the
    source's chain, noted by a person; all_or_nothing: refuse the source as a whole when anything in it does not hold.
    """

    same: Sequence[str] = ()
    check: Check = lambda record: Checked()
    check_judgement: CheckJudgement = lambda record, judgement: Checked()
    head: str = ""
    all_or_nothing: bool = False


def import_from(store: Store, source: str, asked: Asked = Asked()) -> ImportResult:
    """Import a rescue file, records as `--json` gives them, or another store (a file or a URL).

    A store is held against its own chain first. Whatever is taken in is kept as from outside. Raises FileRefused.
    """
    taken = ImportResult()
    if "://" not in source and not _is_sqlite(Path(source)):
        if asked.head:
            raise FileRefused(f"The file {source} is no store, so it has no head that could vouch for it.")
        arrivals, of_runs, refused = Arrivals(Path(source).name, asked.same), list[tuple[str, Part]](), list[str]()
        for one in records(Path(source)):  # to the end, before any is taken
            of_runs.append((one.run, one.part))
            if asked.all_or_nothing and (why := asked.check(one).refused):
                refused.append(why)
        if refused:
            raise _not_whole(source, refused)
        origins = Origins(f"{Path(source).name}, a record in a file", asked.check)
        with explained(store.name):
            with store.engine.connect() as ours:
                arrivals.meet(ours, of_runs, ())
            merge.import_runs(store.engine, store.name, records(Path(source)), arrivals, taken, origins)
    else:
        with opened_source(source) as other:
            place = locate(source)
            name = place.file.name if place.file else place.name
            arrivals = Arrivals(name, asked.same)
            with explained(other.name), other.engine.connect() as theirs:
                found = verify(theirs, [asked.head] if asked.head else [])
                doubts = of_source(theirs, found, asked.head)
            if doubts.whole or (asked.all_or_nothing and doubts.sentences):
                raise _not_whole(place.name, doubts.sentences)
            origins = Origins(f"{name}, a store", asked.check, asked.check_judgement, asked.head, doubts)
            _take_store(store, other, arrivals, taken, origins)
            lost = _carry_photos(place, store.place, _photos_of(other) & _photos_of(store))
            taken.refused += [f"{said} Its event is here without it." for said in lost]
    heads.follow(store.engine, store.place)
    taken.renamed += arrivals.told
    return taken


def _not_whole(source: str, said: Sequence[str]) -> FileRefused:
    more = f" There are {len(said) - 1} more findings." if len(said) > 1 else ""
    return FileRefused(
        f"{source} is not what was written: {said[0]}{more} Nothing was taken in. Look at it with: pulldrop store "
        "verify --store FILE"
    )


def _is_sqlite(file: Path) -> bool:
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
        _copy_sqlite(place.file, copy, place.name, copy)
        try:
            other = Store.look(str(copy))
        except StoreTrouble as trouble:  # the copy is gone before anybody could look at it
            raise StoreTrouble(trouble.said, place=place.name) from trouble
        with other:
            yield other


def _copy_sqlite(source: Path, target: Path, source_name: str, becomes: Path) -> None:
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


def _take_store(store: Store, other: Store, arrivals: Arrivals, taken: ImportResult, origins: Origins) -> None:
    run, part, event = tables.run.c, tables.part.c, tables.part_event.c
    query = select(run.id, part.id).join(tables.part, run.part == part.key).order_by(run.started, run.id)
    with explained(other.name), other.engine.connect() as theirs:
        try:
            there = others.parts_there(theirs)
        except (ValueError, KeyError, TypeError) as error:
            raise _not_whole(other.name, [f"a part in it cannot be read ({str(error).splitlines()[0]})."]) from None
        runs = [(id, there[of]) for id, of in theirs.execute(query)]
        events = [(id, there[of]) for id, of in theirs.execute(select(event.id, event.part)) if of in there]
        births = theirs.execute(select(tables.birth.c.birth)).scalars()
        arrivals.distrusted = frozenset(one for one in births if origins.distrusts(tables.birth, one))
    seen = ((tables.run, runs), (tables.part_event, events))
    with explained(store.name):
        with store.engine.connect() as ours:
            known_by = ([one for one in some if not origins.distrusts(of, one[0])] for of, some in seen)
            arrivals.meet(ours, *known_by)
        bad = origins.doubts.runs
        taken.refused += [f"Run {id} was not taken in. {said}" for id, said in bad.items()]
        sound = _readable(other, [id for id, _ in runs if id not in bad], taken)
        merge.import_runs(store.engine, store.name, sound, arrivals, taken, origins)
        with other.engine.connect() as theirs, writing(store.engine).begin() as ours:
            others.import_other_rows(ours, theirs, arrivals, taken, origins)


def _readable(other: Store, runs: Iterable[str], taken: ImportResult) -> Iterator[RunRecord]:
    """One that cannot be read back is refused alone, although its chain holds."""
    for id in runs:
        try:
            yield other.record(id)
        except Damaged as damaged:
            taken.refused.append(f"Run {id} was not taken in. It cannot be read back ({damaged.reason}).")


@dataclass(frozen=True, slots=True)
class Copied:
    """A store that was backed up or restored: the head of its chain, and where a former store was moved to.

    `lacks`: what could not be done beside it, a sentence each: photos that events name, the head to be noted.
    """

    head: str
    aside: Path | None = None
    lacks: tuple[str, ...] = ()


def backup(store: Store, file: Path) -> Copied:
    """Write the whole store, as it is at this moment, into a new SQLite file."""
    _must_be_new(file)
    with _whole(file) as half:
        if store.file is not None:
            _copy_sqlite(store.file, half, store.name, file)
        else:
            with Store.open(str(half)) as copy:
                _copy_rows(store, copy)
        with Store.open(str(half)) as copy:
            head, photos = copy.head(), _photos_of(copy)
        lacks = _carry_photos(store.place, locate(str(file)), photos)  # first, so that a backup that is there is whole
    return Copied(head, lacks=lacks)


def restore(file: Path, place: StorePlace, replace: bool, now: datetime, noted: str = "") -> Copied:
    """Make `file` the store at `place`.

    The backup is held first against its chain, and against the head that a person `noted` of it, or the one that is
    noted of that place. Raises FileRefused when there are runs and `replace` is not said.
    """
    if not _is_sqlite(file):
        raise FileRefused(f"The file {file} is not a backup of a store; a SQLite file was expected.")
    if place.on_server:
        head, photos = _restore_on_server(file, place, noted)
        lacks = _carry_photos(locate(str(file)), place, photos)
        return Copied(head, None, (*lacks, *_note(place, head)))
    if place.file is None:
        raise FileRefused("A store in memory cannot be restored. Name a file with --store.")
    if place.file.exists() and not replace:
        raise FileRefused(
            f"There is a store {place.file} already. To move it aside and put the backup in its place, say --replace; "
            "to bring in what it lacks, use: pulldrop store import"
        )
    with _whole(place.file) as half:
        _copy_sqlite(file, half, str(file), place.file)
        with Store.open(str(half)) as copy:
            head, photos = _must_be_whole(copy, file, place, noted), _photos_of(copy)
        aside = _move_aside(place, now) if place.file.exists() else None
        lacks = _carry_photos(locate(str(file)), place, photos)
    return Copied(head, aside, (*lacks, *_note(place, head)))


def _note(place: StorePlace, head: str) -> tuple[str, ...]:
    """Note the head of what was restored; says why it cannot be noted."""
    try:
        heads.note(place, head)
    except StoreTrouble as trouble:
        return (f"Its head is not noted in this computer's data folder. {trouble}",)
    return ()


def _carry_photos(source: StorePlace, target: StorePlace, names: Set[str]) -> tuple[str, ...]:
    """Photos go where their store goes; says of each that does not, why."""
    there, here = photo_folder(source), photo_folder(target)
    return carry_photos(there, here, names) if there is not None and here is not None else ()


def _photos_of(store: Store) -> frozenset[str]:
    with store.reading("what happened to parts") as connection:
        return photos_in(connection.execute(select(tables.part_event.c.body)).scalars())


def _restore_on_server(file: Path, place: StorePlace, noted: str) -> tuple[str, frozenset[str]]:
    with opened_source(str(file)) as copy, Store.open(place.url.render_as_string(hide_password=False)) as store:
        if store.info().entries:
            raise FileRefused(
                f"The store {place.name} is not empty, and a server's store cannot be moved aside here. Name an empty "
                "database; to bring in what this one lacks, use: pulldrop store import"
            )
        _must_be_whole(copy, file, place, noted)
        _copy_rows(copy, store)
        return store.head(), _photos_of(store)


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


def _move_aside(place: StorePlace, now: datetime) -> Path:
    """Move the store with its log and photos to a name that says when."""
    file, photos = place.file, photo_folder(place)
    assert file is not None and photos is not None
    aside = file.with_name(f"{file.stem}-before-{now.astimezone(UTC):%Y%m%dT%H%M%S}{file.suffix}")
    if photos.exists() and (beside := photo_folder(locate(str(aside)))):
        photos.replace(beside)
    for ending in ("-wal", "-shm", ""):
        old = file.with_name(file.name + ending)
        if old.exists():
            old.replace(aside.with_name(aside.name + ending))
    return aside


@contextmanager
def _whole(file: Path) -> Iterator[Path]:
    """See `whole`."""
    try:
        with whole(file) as half:
            yield half
    except OSError as error:
        raise StoreTrouble(
            f"The file {file} cannot be written ({error.strerror}). Check its disk and folder."
        ) from error


def _copy_rows(source: Store, target: Store) -> None:
    """Every record as it stands, its entry in the chain too, into a store that is empty."""
    with explained(source.name), source.engine.connect() as theirs, writing(target.engine).begin() as ours:
        for table in tables.RECORDS:
            rows = theirs.execution_options(yield_per=ROWS_AT_ONCE).execute(select(table)).mappings()
            for some in rows.partitions(ROWS_AT_ONCE):
                ours.execute(insert(table), [dict(row) for row in some])
        summary.remake(ours)
