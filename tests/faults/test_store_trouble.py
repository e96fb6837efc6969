"""Trouble with the disk: each kind ends in a sentence, and nothing that was acknowledged is lost."""

import os
import resource
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest
import records
from test_store import header, keep

from pulldrop.model.part.rating import IN_SI
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.store import NotKept, Store, StoreTrouble
from pulldrop.store.exchange import files

NOBODY = 65534


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that an ordinary user reaches, too; the test runner's own are closed to others."""
    with tempfile.TemporaryDirectory() as made:
        path = Path(made)
        path.chmod(0o755)
        yield path
        path.chmod(0o755)


@pytest.fixture
def ordinary_user() -> Iterator[None]:
    """Permissions do not bind the superuser, so he becomes nobody for this test."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def read_rescue(trouble: StoreTrouble) -> RunRecord:
    assert trouble.rescue is not None
    assert str(trouble.rescue) in str(trouble)
    text = trouble.rescue.read_text(encoding="utf-8")
    trouble.rescue.unlink()
    return RunRecord.model_validate_json(text, context=IN_SI)


def is_a_sentence(trouble: StoreTrouble, *words: str) -> None:
    said = str(trouble)
    assert said.endswith(".") and "\n" not in said and len(said) < 500
    assert not [word for word in words if word not in said], said


def test_a_folder_that_cannot_be_written(folder: Path, request: pytest.FixtureRequest) -> None:
    folder.chmod(0o555)
    request.getfixturevalue("ordinary_user")
    with pytest.raises(StoreTrouble) as caught:
        Store.open(str(folder / "depot.db"))
    is_a_sentence(caught.value, "depot.db", "cannot be opened or created", "must be writable", "--store")


def test_a_data_folder_that_cannot_be_made(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "taken").write_text("a file stands where the folder should be")
    monkeypatch.setattr("pulldrop.store.database.place.user_data_path", lambda *_, **__: folder / "taken" / "pulldrop")
    with pytest.raises(StoreTrouble) as caught:
        Store.open()
    is_a_sentence(caught.value, "taken", "cannot be made", "--store")


def test_a_read_only_file_can_be_read_and_begins_no_run(folder: Path, request: pytest.FixtureRequest) -> None:
    file = folder / "depot.db"
    with Store.open(str(file)) as store:
        kept = keep(store, records.record())
    file.chmod(0o444)
    folder.chmod(0o777)  # beside the file the log may be made
    request.getfixturevalue("ordinary_user")
    with Store.open(str(file)) as store:
        assert store.record(kept.run) == kept
        with pytest.raises(StoreTrouble) as caught:
            store.run(header(records.record()))
    is_a_sentence(caught.value, "depot.db", "read-only", "right to write", "--store")


def test_a_folder_in_place_of_the_file(folder: Path) -> None:
    with pytest.raises(StoreTrouble) as caught:
        Store.open(str(folder))
    is_a_sentence(caught.value, str(folder), "is a folder", "a file was expected", "--store")


def test_a_folder_that_is_not_there(folder: Path) -> None:
    with pytest.raises(StoreTrouble) as caught:
        Store.open(str(folder / "typo" / "depot.db"))
    is_a_sentence(caught.value, "there is no folder", "typo", "--store")
    assert not (folder / "typo").exists()


@pytest.mark.parametrize("url", ["postgresql://depot", "sqlite:///a.db?mode=ro", "://", "nonsense://x"])
def test_a_url_that_is_no_store_of_this_version(url: str) -> None:
    with pytest.raises(StoreTrouble) as caught:
        Store.open(url)
    is_a_sentence(caught.value, url, "expected a file", "sqlite:///relays.db", "postgresql+psycopg://")


@pytest.mark.parametrize(
    "content", [b"relay notes, on paper\n" * 50, b"\x00" * 9000, b"SQLite format 3\x00 and no more"]
)
def test_a_file_that_is_no_database_is_left_as_it_was(folder: Path, content: bytes) -> None:
    file = folder / "notes.txt"
    file.write_bytes(content)
    with pytest.raises(StoreTrouble) as caught:
        Store.open(str(file))
    is_a_sentence(caught.value, "notes.txt", "--store")
    assert file.read_bytes() == content


def test_a_database_of_another_program_is_left_as_it_was(folder: Path) -> None:
    file = folder / "music.db"
    with closing(sqlite3.connect(file)) as plain:
        plain.execute("CREATE TABLE song (title TEXT)")
    before = file.read_bytes()
    with pytest.raises(StoreTrouble) as caught:
        Store.open(str(file))
    is_a_sentence(caught.value, "music.db", "another program", "--store")
    assert file.read_bytes() == before


def _stores_with_holes(file: Path) -> Iterator[bytes]:
    whole = file.read_bytes()
    for page in range(1, len(whole) // 4096):
        yield whole[: page * 4096] + b"\xa5" * 4096 + whole[(page + 1) * 4096 :]


def test_a_damaged_page_is_trouble_or_harmless_and_never_another_record(folder: Path) -> None:
    file = folder / "depot.db"
    with Store.open(str(file)) as store:
        kept = keep(store, records.record())
    troubles = 0
    for content in list(_stores_with_holes(file)):
        for leftover in folder.glob("depot.db-*"):
            leftover.unlink()
        file.write_bytes(content)
        try:
            with Store.open(str(file)) as store:
                assert store.record(kept.run) == kept
                store.parts()
        except StoreTrouble as trouble:
            is_a_sentence(trouble, "depot.db", "damaged", "--store" if "malformed" in str(trouble) else "backup")
            troubles += 1
        except NotKept as missing:  # the page of an index: the run is not found, and that is said
            assert kept.run in str(missing) or "P0001" in str(missing)
            troubles += 1
    assert troubles >= 5


def test_raw_data_that_were_changed_are_not_passed_on(folder: Path) -> None:
    file = folder / "depot.db"
    with Store.open(str(file)) as store:
        kept = keep(store, records.record())
    with closing(sqlite3.connect(file)) as plain:
        plain.execute("DROP TRIGGER raw_no_update")
        plain.execute("UPDATE raw SET body = (SELECT body FROM raw ORDER BY length(body) DESC LIMIT 1)")
        plain.commit()
    with Store.open(str(file)) as store, pytest.raises(StoreTrouble) as caught:
        store.record(kept.run)
    is_a_sentence(caught.value, "depot.db", kept.run, "not what was written", "backup")


def test_a_measurement_removed_behind_our_back_is_noticed(folder: Path) -> None:
    file = folder / "depot.db"
    with Store.open(str(file)) as store:
        kept = keep(store, records.failed())
    with closing(sqlite3.connect(file)) as plain:
        plain.execute("DROP TRIGGER measurement_no_delete")
        plain.execute("DELETE FROM measurement WHERE outcome = 'fail'")
        plain.commit()
    with Store.open(str(file)) as store, pytest.raises(StoreTrouble) as caught:
        store.record(kept.run)
    is_a_sentence(caught.value, "10 measurements at its end, 9 now")


def test_a_locked_store_is_waited_for_then_named_and_written_later(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pulldrop.store.database.place.LOCK_WAIT_S", 0.1)
    file, record = folder / "depot.db", records.record()
    with Store.open(str(file)) as store, closing(sqlite3.connect(file, isolation_level=None)) as other:
        run = store.run(header(record))
        run.add(record.judged[0])
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreTrouble) as caught:
            run.add(record.judged[1])
        is_a_sentence(caught.value, "depot.db", "locked", "Close the other program")
        rescued = read_rescue(caught.value)
        assert rescued.judged == record.judged[:2]
        assert rescued.verdict.overall is Overall.INTERRUPTED
        with pytest.raises(StoreTrouble):
            store.run(header(record))
        other.execute("ROLLBACK")
        for judged in record.judged[2:]:
            run.add(judged)
        assert record.ended is not None
        run.finish(record.verdict, record.ended, record.bench_s)
        assert store.record(run.id).judged == record.judged


def _fill(store: Store) -> None:
    """From here on the database may not grow: to SQLite the same as a full disk."""
    with store.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")


def _add_until_trouble(store: Store, record: RunRecord) -> tuple[str, int, StoreTrouble]:
    with store.run(header(record)) as run:
        _fill(store)
        for count in range(1000):
            try:
                run.add(record.judged[count % len(record.judged)])
            except StoreTrouble as trouble:
                return run.id, count, trouble
    raise AssertionError("the disk never filled")


def test_a_disk_that_fills_during_a_run_keeps_what_was_written_and_rescues_the_rest(folder: Path) -> None:
    with Store.open(str(folder / "depot.db")) as store:
        run, count, trouble = _add_until_trouble(store, records.record())
        is_a_sentence(trouble, "depot.db", "disk is full", "Free some space", "is kept in a file", "store import")
        assert trouble.rescue is not None and trouble.rescue.parent == folder
        assert len(read_rescue(trouble).judged) == count + 1
        kept = store.record(run)
    assert len(kept.judged) == count
    assert kept.verdict.overall is Overall.INTERRUPTED


def test_a_full_disk_at_the_end_rescues_the_verdict_and_the_store_says_interrupted(folder: Path) -> None:
    record = records.failed()
    with Store.open(str(folder / "depot.db")) as store, store.run(header(record)) as run:
        _fill(store)
        with pytest.raises(StoreTrouble) as caught:
            run.finish(record.verdict.model_copy(update={"found": "x" * 50_000}), records.STARTED, 1.0)
        assert read_rescue(caught.value).verdict.overall is Overall.FAIL
        assert store.record(run.id).verdict.overall is Overall.INTERRUPTED


def test_the_rescue_goes_to_the_temporary_folder_when_none_can_be_made_beside(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(half: Path, *_: object, **__: object) -> object:
        half.touch()
        raise OSError(28, "No space left on device")

    real_open = Path.open
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setattr(Path, "open", lambda p, *a, **k: (no_room if p.parent == folder else real_open)(p, *a, **k))
    with Store.open(str(folder / "depot.db")) as store:
        _, count, trouble = _add_until_trouble(store, records.record(kind="virtual"))
    assert trouble.rescue is not None and trouble.rescue.parent == tmp_path
    assert not list(folder.glob("pulldrop-rescue*"))
    rescued = read_rescue(trouble)
    assert (len(rescued.judged), rescued.simulated) == (count + 1, True)


def test_when_nothing_can_be_kept_anywhere_that_is_said(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(folder / "gone"))
    with Store.open(str(folder / "depot.db")) as store:
        monkeypatch.setattr(Path, "replace", lambda *_: (_ for _ in ()).throw(OSError(5, "Input/output error")))
        _, _, trouble = _add_until_trouble(store, records.record())
    assert trouble.rescue is None
    is_a_sentence(trouble, "could not be kept anywhere else", str(folder / "gone"))
    assert not list(folder.glob("pulldrop-rescue*"))


def test_a_schema_that_is_no_text_is_a_damaged_store(folder: Path) -> None:
    file = folder / "depot.db"
    with Store.open(str(file)) as store:
        keep(store, records.record())
    with closing(sqlite3.connect(file)) as plain:
        plain.execute("PRAGMA journal_mode = DELETE")
    content = file.read_bytes()
    file.write_bytes(content.replace(b"CREATE TABLE part_event", b"CREATE TABL\xac part_event", 1))
    with Store.open(str(folder / "other.db")) as other:
        for use in (Store.open, Store.look, partial(files.import_from, other)):
            with pytest.raises(StoreTrouble) as caught:
                use(str(file))
            is_a_sentence(caught.value, "depot.db", "damaged", "backup")


CHILD = """
import sys
sys.path[:0] = {path!r}
import records
from test_store import header
from pulldrop.store import Store, StoreTrouble
"""

GROWING = """
import resource
record = records.record()
with Store.open(sys.argv[1]) as store, store.run(header(record)) as run:
    resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))
    for count in range(1000):
        try:
            run.add(record.judged[count % 10])
        except StoreTrouble as trouble:
            print(run.id, count, trouble.rescue, trouble, sep="\\n")
            break
"""

LONG = """
record = records.record()
with Store.open(sys.argv[1]) as store, store.run(header(record)) as run:
    print(run.id, flush=True)
    for count in range(1, 100000):
        run.add(record.judged[count % 10])
        print(count, flush=True)
"""


def child(body: str, *arguments: str) -> subprocess.Popen[str]:
    script = CHILD.format(path=[str(Path(records.__file__).parent), *sys.path]) + body
    return subprocess.Popen([sys.executable, "-c", script, *arguments], stdout=subprocess.PIPE, text=True)


def test_a_file_that_may_not_grow_is_trouble_with_a_sentence(folder: Path) -> None:
    file = folder / "depot.db"
    limit = 400_000
    assert limit < resource.getrlimit(resource.RLIMIT_FSIZE)[0] or resource.getrlimit(resource.RLIMIT_FSIZE)[0] < 0
    with child(GROWING.format(limit=limit), str(file)) as process:
        out, _ = process.communicate(timeout=60)
    run, count, rescue, said = out.splitlines()
    is_a_sentence(StoreTrouble(said), "depot.db", "disk", "--store", rescue)
    assert process.returncode == 0
    with Store.open(str(file)) as store:
        assert len(store.record(run).judged) == int(count)
    assert len(RunRecord.model_validate_json(Path(rescue).read_text(), context=IN_SI).judged) == int(count) + 1


@pytest.mark.parametrize("moment_s", [0.0, 0.003, 0.02, 0.11])
def test_a_killed_run_is_interrupted_and_nothing_acknowledged_is_lost(folder: Path, moment_s: float) -> None:
    file = folder / "depot.db"
    with child(LONG, str(file)) as process:
        assert process.stdout is not None
        run = process.stdout.readline().strip()
        time.sleep(moment_s)
        process.send_signal(signal.SIGKILL)
        counts = process.stdout.read().split()
    with Store.open(str(file)) as store:
        kept = store.record(run)
        assert [line.overall for line in store.runs("P0001")] == [Overall.INTERRUPTED]
        assert store.parts()[0].last.overall is Overall.INTERRUPTED
    assert kept.verdict.overall is Overall.INTERRUPTED
    acknowledged = int(counts[-1]) if counts else 0
    assert acknowledged <= len(kept.judged) <= acknowledged + 1
    judged = records.record().judged
    assert kept.judged == tuple(judged[n % 10] for n in range(1, len(kept.judged) + 1))
