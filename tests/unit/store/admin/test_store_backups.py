"""A backup that is there is whole, with its photos; what is said names the right disk; a photo is a photo."""

import hashlib
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import records
from test_store import fill, keep

from pulldrop.cli.main import main
from pulldrop.jobs.parts import keep as parts
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.store import Store, StoreTrouble
from pulldrop.store.database.place import locate
from pulldrop.store.exchange import backups, copies, files
from pulldrop.store.exchange.records_file import FileRefused
from pulldrop.store.records import part_events
from pulldrop.whole import HALF, ORPHAN_S, whole


@pytest.fixture
def photographed(tmp_path: Path) -> tuple[Path, str]:
    """A store with a run and a photo of its part, and the photo's name."""
    picture, file = tmp_path / "case.png", tmp_path / "depot.db"
    picture.write_bytes(b"invented picture")
    with Store.open(str(file)) as store:
        name = parts.add_photo(store, fill(store).part.id, picture, "case").photo
    return file, name


def test_photos_are_there_before_the_backup_that_needs_them(
    photographed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed while it copies photos, it leaves no file that looks like a backup."""

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    (tmp_path / "usb").mkdir()
    monkeypatch.setattr(copies, "carry_photos", killed)
    with Store.open(str(photographed[0])) as store, pytest.raises(KeyboardInterrupt):
        backups.backup(store, tmp_path / "usb" / "backup.db")
    assert list((tmp_path / "usb").iterdir()) == []


def test_a_store_that_was_moved_aside_has_its_own_photos_and_the_restored_one_its_own(
    photographed: tuple[Path, str], tmp_path: Path
) -> None:
    there, name = photographed
    picture, backup = tmp_path / "base.png", tmp_path / "backup.db"
    picture.write_bytes(b"another invented picture")
    with Store.open(str(tmp_path / "other.db")) as other:
        others = parts.add_photo(other, fill(other).part.id, picture, "base").photo
        head = backups.backup(other, backup).head
    aside = backups.restore(backup, locate(str(there)), True, records.STARTED, head).aside
    with Store.open(str(aside)) as before, Store.open(str(there)) as now:
        assert before.photo(name).read_bytes() == b"invented picture"
        assert now.photo(others).read_bytes() == picture.read_bytes()
        assert [one.name for one in now.photos.iterdir()] == [others]


def test_two_stores_that_are_moved_aside_in_one_second_are_two(photographed: tuple[Path, str], tmp_path: Path) -> None:
    there, backup = photographed[0], tmp_path / "backup.db"
    with Store.open(str(there)) as store:
        head = backups.backup(store, backup).head
    asides = {backups.restore(backup, locate(str(there)), True, records.STARTED, head).aside for _ in range(3)}
    assert len(asides) == 3 and all(one is not None and one.exists() for one in asides)


def test_what_a_killed_restore_left_goes_with_the_next(photographed: tuple[Path, str], tmp_path: Path) -> None:
    there, backup = photographed[0], tmp_path / "backup.db"
    left = there.with_name(f".{there.stem}-before-20200101T000000{there.suffix}.77{HALF}")
    left.touch()
    os.utime(left, (0, 0))
    with Store.open(str(there)) as store:
        head = backups.backup(store, backup).head
    backups.restore(backup, locate(str(there)), True, records.STARTED, head)
    assert not left.exists()


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
        backups.backup(store, tmp_path / "backup.db")
    assert str(tmp_path / "backup.db") in str(caught.value) and "its disk" in str(caught.value)
    assert "depot.db" not in str(caught.value) and "--store" not in str(caught.value)


CHILD = """
import resource, sys
from pathlib import Path
from pulldrop.store import Store
from pulldrop.store.exchange import backups
with Store.open(sys.argv[1]) as store:
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
    try:
        backups.backup(store, Path(sys.argv[2]))
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
        with pytest.raises(FileRefused, match="is no file"):
            files.import_from(store, str(pipe))
        with pytest.raises(FileRefused, match="is no file"):
            backups.restore(pipe, store.place, True, records.STARTED)


def test_only_photos_go_with_a_store(
    photographed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, name = photographed
    folder, secret = tmp_path / "depot.db-photos", tmp_path / "private.txt"
    secret.write_text("private")
    names = [f"{'0' * 64}.txt", f"{'1' * 64}.jpg", f"{'2' * 64}.jpg", "3" * 64, "notes.txt", f"{'4' * 64}.jpg"]
    (folder / names[0]).symlink_to(secret)
    (folder / names[1]).symlink_to("/dev/zero")
    os.mkfifo(folder / names[2])
    (folder / names[3]).mkdir()
    (folder / names[4]).write_text("notes")
    (folder / names[5]).write_bytes(b"x" * 200)
    names += [f"{'5' * 64}.jpg", "../private.txt"]
    monkeypatch.setattr(part_events, "PHOTO_BYTES", 100)
    with Store.open(str(there)) as store:
        part = store.parts()[0].part.id
        for one in names:
            store.part_event(PartEvent(part=part, at=records.STARTED, kind=PartEventKind.PHOTO, photo=one))
    with Store.open(str(tmp_path / "here.db")) as store:
        said = files.import_from(store, str(there)).refused
        assert [one.name for one in store.photos.iterdir()] == [name]
    assert sorted(one.split()[2] for one in said) == sorted(names), said


def test_a_photo_that_no_event_names_stays_where_it_is(photographed: tuple[Path, str], tmp_path: Path) -> None:
    there, name = photographed
    other, backup = b"another invented picture", tmp_path / "backup.db"
    (tmp_path / "depot.db-photos" / f"{hashlib.sha256(other).hexdigest()}.png").write_bytes(other)
    with Store.open(str(tmp_path / "here.db")) as store:
        assert files.import_from(store, str(there)).refused == []
        assert [one.name for one in store.photos.iterdir()] == [name]
        assert store.verify().findings == ()
        assert backups.backup(store, backup).lacks == ()
    backups.restore(backup, locate(str(tmp_path / "again.db")), False, records.STARTED)
    assert [one.name for one in (tmp_path / "again.db-photos").iterdir()] == [name]


def test_an_import_brings_the_photos_of_the_events_that_it_took_and_no_others(
    photographed: tuple[Path, str], tmp_path: Path
) -> None:
    there, name = photographed
    with Store.open(str(there)) as store, Store.open(str(tmp_path / "here.db")) as here:
        part = store.parts()[0].part.id
        keep(here, records.failed(part=part))
        said = files.import_from(here, str(there), files.Asked(same=[part])).refused
        assert any("part_event" in one for one in said) and not here.photos.exists()
        assert name not in {one.photo for one in here.part_events()}


def test_an_import_that_is_killed_leaves_no_event_without_its_photo(
    photographed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take = files._take_store

    def then_killed(*given: Any) -> None:
        take(*given)
        os._exit(9)

    monkeypatch.setattr(files, "_take_store", then_killed)
    with Store.open(str(tmp_path / "here.db")):
        pass
    child = os.fork()
    if child == 0:
        try:
            files.import_from(Store.open(str(tmp_path / "here.db")), str(photographed[0]))
        finally:
            os._exit(1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    with Store.look(str(tmp_path / "here.db")) as here:
        assert photographed[1] in {one.photo for one in here.part_events()}
        assert here.photo(photographed[1]).read_bytes() == b"invented picture"


@pytest.mark.parametrize("state", ["missing", "altered"])
@pytest.mark.parametrize("folder", [False, True], ids=["one photo", "all photos"])
def test_a_photo_that_cannot_be_copied_is_said_by_its_name_with_code_1(
    photographed: tuple[Path, str], tmp_path: Path, state: str, folder: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    there, name = photographed
    photo, again, backup = tmp_path / "depot.db-photos" / name, str(tmp_path / "again.db"), str(tmp_path / "backup.db")
    if state == "altered":
        photo.write_bytes(b"somebody else's picture")
    else:
        photo.unlink()
    if folder:
        photo.unlink(missing_ok=True)
        photo.parent.rmdir()
    for arguments in (("backup", backup, "--store", str(there)), ("restore", str(there), "--store", again)):
        assert main(["store", *arguments]) == 1
        said = "".join(capsys.readouterr().out.split())
        assert f"{name}" in said and ("altered" if state == "altered" and not folder else "missing") in said
        assert not Path(f"{arguments[1] if arguments[0] == 'backup' else again}-photos").exists()
        assert "Allrecordsarethere" in said
    with Store.open(again) as store:
        assert len(store.parts()) == 1
        assert any("is gone" in one for one in store.verify().findings)


def test_a_restore_whose_head_cannot_be_noted_says_what_was_done_and_what_not(
    photographed: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    there, name = photographed
    (tmp_path / "in the way").write_text("a file")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "in the way"))
    assert main(["store", "restore", str(there), "--store", str(tmp_path / "again.db")]) == 1
    told = capsys.readouterr()
    said = " ".join(told.out.split())
    assert "is not noted" in said and "again, up to entry" in said and told.err == ""
    assert [one.name for one in (tmp_path / "again.db-photos").iterdir()] == [name]


@pytest.mark.parametrize("ending", [".jp-g", ".verylongsuffix", ".jp~1", ".j g", ".jpég"])
def test_a_photo_is_refused_where_its_ending_would_not_be_carried(tmp_path: Path, ending: str) -> None:
    (tmp_path / f"case{ending}").write_bytes(b"invented picture")
    with Store.open(str(tmp_path / "here.db")) as store:
        with pytest.raises(StoreTrouble, match="Rename it"):
            store.keep_photo(tmp_path / f"case{ending}")
        assert not store.photos.exists()


@pytest.mark.parametrize("ending", ["", ".JPG", ".png", ".heic", ".tar.gz"])
def test_every_photo_that_is_kept_goes_into_the_backup(tmp_path: Path, ending: str) -> None:
    picture, backup = tmp_path / f"case{ending}", tmp_path / "backup.db"
    picture.write_bytes(b"invented picture")
    with Store.open(str(tmp_path / "here.db")) as store:
        name = parts.add_photo(store, fill(store).part.id, picture, "case").photo
        assert backups.backup(store, backup).lacks == ()
    with Store.open(str(backup)) as copy:
        assert copy.photo(name).read_bytes() == picture.read_bytes()


@pytest.mark.parametrize(
    "make", [lambda file: os.mkfifo(file), lambda file: file.mkdir(), lambda file: file.write_bytes(b"x" * 200)]
)
def test_what_is_no_photo_is_refused_with_a_sentence(make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(part_events, "PHOTO_BYTES", 100)
    make(tmp_path / "case.jpg")
    with Store.open(str(tmp_path / "here.db")) as store, pytest.raises(StoreTrouble, match="is not a file of at most"):
        store.keep_photo(tmp_path / "case.jpg")
