"""A backup that is there is whole, with its photos; what is said names the right disk; a photo is a photo."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest
import records
from test_store import fill

from pulldrop.jobs.parts import keep as parts
from pulldrop.store import Store, StoreTrouble
from pulldrop.store.database.place import locate
from pulldrop.store.exchange import files
from pulldrop.store.records import part_events
from pulldrop.whole import ORPHAN_S, whole


@pytest.fixture
def photographed(tmp_path: Path) -> tuple[Path, str]:
    """A store with a run and a photo, and the photo's name."""
    picture, file = tmp_path / "case.png", tmp_path / "depot.db"
    picture.write_bytes(b"invented picture")
    with Store.open(str(file)) as store:
        fill(store)
        name = store.keep_photo(picture)
    return file, name


def test_photos_are_there_before_the_backup_that_needs_them(
    photographed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed while it copies photos, it leaves no file that looks like a backup."""

    def killed(_source: Path, _target: Path) -> None:
        raise KeyboardInterrupt

    (tmp_path / "usb").mkdir()
    monkeypatch.setattr(files, "carry_photos", killed)
    with Store.open(str(photographed[0])) as store, pytest.raises(KeyboardInterrupt):
        files.backup(store, tmp_path / "usb" / "backup.db")
    assert list((tmp_path / "usb").iterdir()) == []


def test_a_store_that_was_moved_aside_has_its_own_photos_and_the_restored_one_its_own(
    photographed: tuple[Path, str], tmp_path: Path
) -> None:
    there, name = photographed
    picture, backup = tmp_path / "base.png", tmp_path / "backup.db"
    picture.write_bytes(b"another invented picture")
    with Store.open(str(tmp_path / "other.db")) as other:
        fill(other)
        others = other.keep_photo(picture)
        head = files.backup(other, backup)
    _, aside = files.restore(backup, locate(str(there)), True, records.STARTED, head)
    with Store.open(str(aside)) as before, Store.open(str(there)) as now:
        assert before.photo(name).read_bytes() == b"invented picture"
        assert now.photo(others).read_bytes() == picture.read_bytes()
        assert [one.name for one in now.photos.iterdir()] == [others]


FULL = {"SQLITE_FULL": "database or disk is full", "SQLITE_IOERR_WRITE": "disk I/O error"}


@pytest.mark.parametrize("name", FULL)
def test_a_full_disk_is_that_of_the_backup_and_not_that_of_the_store(
    photographed: tuple[Path, str], tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    connect = sqlite3.connect

    class Full(sqlite3.Connection):
        def backup(self, *_: object, **__: object) -> None:
            error = sqlite3.OperationalError(FULL[name])
            error.sqlite_errorname = name
            raise error

    monkeypatch.setattr(sqlite3, "connect", lambda *a, **k: connect(*a, **k, factory=Full))
    with Store.open(str(photographed[0])) as store, pytest.raises(StoreTrouble) as caught:
        files.backup(store, tmp_path / "backup.db")
    assert str(tmp_path / "backup.db") in str(caught.value) and "its disk" in str(caught.value)
    assert "depot.db" not in str(caught.value) and "--store" not in str(caught.value)


CHILD = """
import resource, sys
from pathlib import Path
from pulldrop.store import Store
from pulldrop.store.exchange import files
with Store.open(sys.argv[1]) as store:
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
    try:
        files.backup(store, Path(sys.argv[2]))
    except Exception as error:
        print(type(error).__name__, error)
"""


def test_a_file_that_may_not_grow_is_named_with_its_disk(photographed: tuple[Path, str], tmp_path: Path) -> None:
    target = tmp_path / "backup.db"
    said = subprocess.run([sys.executable, "-c", CHILD, photographed[0], target], capture_output=True, text=True).stdout
    assert said.startswith("StoreTrouble") and str(target) in said and "its disk" in said
    assert not list(tmp_path.glob("*backup*"))


KILLED = """
import sys
from pathlib import Path
from pulldrop.whole import whole
with whole(Path(sys.argv[1])) as half:
    half.write_text("half")
    print("writing", flush=True)
    sys.stdin.read()
"""


def test_what_a_killed_writer_left_goes_with_the_next_that_is_whole(tmp_path: Path) -> None:
    file = tmp_path / "report [1].html"
    with subprocess.Popen(
        [sys.executable, "-c", KILLED, file], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as writer:
        assert writer.stdout is not None and writer.stdout.readline() == "writing\n"
        writer.send_signal(signal.SIGKILL)
    (orphan,) = tmp_path.iterdir()
    with whole(file) as half:
        half.write_text("whole")
    assert orphan.exists(), "another may be writing it"
    os.utime(orphan, (time.time() - ORPHAN_S - 1,) * 2)
    with whole(file) as half:
        half.write_text("whole")
    assert [one.name for one in tmp_path.iterdir()] == [file.name]


def test_a_photo_that_grew_beyond_any_is_altered_and_not_read(
    photographed: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    there, name = photographed
    with Store.open(str(there)) as store:
        parts.add_photo(store, store.parts()[0].part.id, there.with_name("case.png"), "case")
        assert store.verify().findings == ()
        with (store.photos / name).open("r+b") as grown:
            grown.truncate(3 * 2**30)  # a hole: it takes no room
        assert any("was altered" in one for one in store.verify().findings)
        with pytest.raises(StoreTrouble, match="was changed"):
            store.photo(name)


def test_stores_of_one_name_and_two_endings_have_photos_of_their_own(photographed: tuple[Path, str]) -> None:
    there, _ = photographed
    with Store.open(str(there.with_suffix(".sqlite"))) as other, Store.open(str(there)) as store:
        assert other.photos != store.photos
        fill(other)
        assert other.verify().findings == ()


def test_a_pipe_is_no_file_and_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with Store.open(str(tmp_path / "here.db")) as store:
        with pytest.raises(files.FileRefused, match="is no file"):
            files.import_from(store, str(pipe))
        with pytest.raises(files.FileRefused, match="is no file"):
            files.restore(pipe, store.place, True, records.STARTED)


def test_only_photos_go_with_a_store(
    photographed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, name = photographed
    folder, secret = tmp_path / "depot.db-photos", tmp_path / "private.txt"
    secret.write_text("private")
    (folder / f"{'0' * 64}.txt").symlink_to(secret)
    (folder / f"{'1' * 64}.jpg").symlink_to("/dev/zero")
    os.mkfifo(folder / f"{'2' * 64}.jpg")
    (folder / f"{'3' * 64}").mkdir()
    (folder / "notes.txt").write_text("notes")
    (folder / f"{'4' * 64}.jpg").write_bytes(b"x" * 200)
    monkeypatch.setattr(part_events, "PHOTO_BYTES", 100)
    with Store.open(str(tmp_path / "here.db")) as store:
        files.import_from(store, str(there))
        assert [one.name for one in store.photos.iterdir()] == [name]


@pytest.mark.parametrize(
    "make", [lambda file: os.mkfifo(file), lambda file: file.mkdir(), lambda file: file.write_bytes(b"x" * 200)]
)
def test_what_is_no_photo_is_refused_with_a_sentence(make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(part_events, "PHOTO_BYTES", 100)
    make(tmp_path / "case.jpg")
    with Store.open(str(tmp_path / "here.db")) as store, pytest.raises(StoreTrouble, match="is not a file of at most"):
        store.keep_photo(tmp_path / "case.jpg")
