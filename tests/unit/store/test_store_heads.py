"""Statements about the head that is noted in a second place: it is noted in time, and only a person lets go of it."""

from pathlib import Path

import databases
import pytest
import records
from test_store import keep

from pulldrop.cli.main import main
from pulldrop.store import NoStore, Store, StoreTrouble, locate
from pulldrop.store.database import heads
from pulldrop.store.exchange import backups, files
from pulldrop.store.exchange.records_file import FileRefused


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A store of one run."""
    where = tmp_path / "depot.db"
    with Store.open(str(where)) as store:
        keep(store, records.record())
    return where


def test_a_head_has_all_digits_that_are_printed(file: Path) -> None:
    with Store.look(str(file)) as store:
        head = store.head()
        assert store.verify(head).findings == ()
        (said,) = store.verify(head[:-1]).findings
    assert "cannot be read" in said and "16 digits" in said


def test_a_store_is_one_by_whatever_link_it_is_reached(file: Path) -> None:
    link = file.with_name("link.db")
    link.symlink_to(file)
    assert heads.noted(locate(str(link))) == heads.noted(locate(str(file))) != ""


def test_a_store_whose_mark_was_wiped_is_called_damaged_and_keeps_its_note(file: Path) -> None:
    noted = heads.noted(locate(str(file)))
    with databases.behind(str(file)) as plain:
        plain.exec_driver_sql("PRAGMA user_version = 0")
    for door in (Store.open, Store.look):
        with pytest.raises(StoreTrouble, match="mark of its version is damaged") as caught:
            door(str(file))
        assert not isinstance(caught.value, NoStore) and str(file) in str(caught.value)
    assert heads.noted(locate(str(file))) == noted


@pytest.mark.parametrize("emptied", [False, True])
def test_a_store_begun_where_another_was_says_so_and_the_note_stays_until_a_person_says_so(
    file: Path, emptied: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    noted = heads.noted(locate(str(file)))
    databases.drop(str(file))
    if emptied:
        file.touch()
    assert main(["parts", "new", "--form", "C", "--store", str(file)]) == 0
    said = " ".join(capsys.readouterr().err.split())
    assert f"A new store is begun at {file}" in said and noted in said and "verify --forget" in said
    assert main(["parts", "new", "--form", "C", "--store", str(file)]) == 0
    assert heads.noted(locate(str(file))) == noted
    assert main(["store", "verify", "--store", str(file)]) == 1
    assert "verify --forget" in " ".join(capsys.readouterr().out.split())
    assert main(["store", "verify", "--forget", "--store", str(file)]) == 0
    assert main(["parts", "new", "--form", "C", "--store", str(file)]) == 0
    assert main(["store", "verify", "--store", str(file)]) == 0
    with Store.look(str(file)) as store:
        assert heads.noted(locate(str(file))) == store.head()


def test_the_note_of_an_empty_store_does_not_stand_in_the_way(file: Path) -> None:
    databases.drop(str(file))
    assert main(["store", "verify", "--forget", "--store", str(file)]) == 2, "nothing is made by it"
    with Store.open(str(file)) as store:
        store.note_head()
        keep(store, records.record())
    with Store.look(str(file)) as store:
        assert store.verify().findings == () and heads.noted(locate(str(file))) == store.head()


def test_a_killed_bench_loses_at_most_the_note_of_its_last_run(file: Path) -> None:
    store = Store.open(str(file))
    keep(store, records.failed())
    assert heads.noted(locate(str(file))) == store.head(), "before it is closed"


def test_an_import_is_noted_before_the_store_is_closed(file: Path, tmp_path: Path) -> None:
    store = Store.open(str(tmp_path / "other.db"))
    files.import_from(store, str(file))
    assert heads.noted(store.place) == store.head() != ""
    (tmp_path / "run.json").write_text(records.failed().model_dump_json())
    files.import_from(store, str(tmp_path / "run.json"))
    assert heads.noted(store.place) == store.head()


def restored(backup: Path, place: Path, head: str = "") -> str:
    return backups.restore(backup, locate(str(place)), True, records.STARTED, head).head


def test_a_backup_of_another_store_is_restored_only_by_its_head(file: Path, tmp_path: Path) -> None:
    forged, note = tmp_path / "forged.db", heads.noted(locate(str(file)))
    with Store.open(str(forged)) as store:
        keep(store, records.failed())
        head = store.head()
    for given in ("", note, head[:-1]):
        with pytest.raises(FileRefused, match="--head"):
            restored(forged, file, given)
        assert heads.noted(locate(str(file))) == note
        with Store.look(str(file)) as store:
            assert store.head() == note, "the store is where it was"
    databases.drop(str(file))
    with pytest.raises(FileRefused, match="--head"):
        restored(forged, file)
    assert restored(forged, file, head) == head == heads.noted(locate(str(file)))


def test_a_backup_of_the_same_store_is_restored_an_older_one_as_it_is_a_newer_one_by_its_head(
    file: Path, tmp_path: Path
) -> None:
    older, newer = tmp_path / "older.db", tmp_path / "newer.db"
    with Store.open(str(file)) as store:
        backups.backup(store, older)
        keep(store, records.failed())
        head = backups.backup(store, newer).head
    restored(older, file)
    with pytest.raises(FileRefused, match="entries were written behind it"):
        restored(newer, file)
    assert restored(newer, file, head) == heads.noted(locate(str(file))) == head


def test_a_backup_to_which_somebody_added_a_run_is_not_restored(file: Path, tmp_path: Path) -> None:
    forged = tmp_path / "forged.db"
    with Store.open(str(file)) as store:
        head = backups.backup(store, forged).head
    with Store.open(str(forged)) as store:
        keep(store, records.failed())
    for given in ("", head):
        with pytest.raises(FileRefused, match="written behind it"):
            restored(forged, file, given)
    databases.drop(str(file))
    with pytest.raises(FileRefused, match="written behind it"):
        restored(forged, file)


def test_an_older_backup_is_that_of_a_store_only_if_that_holds(file: Path, tmp_path: Path) -> None:
    """An entry of another chain, put among the store's own, makes no backup of that chain its own."""
    older, other = tmp_path / "older.db", tmp_path / "other.db"
    with Store.open(str(other)) as store:
        keep(store, records.failed())
        backups.backup(store, older)
        seq, _, digits = store.head().partition(":")
    with Store.open(str(file)) as store:
        keep(store, records.failed())
    with databases.behind(str(file)) as plain, databases.unguarded(plain, "link"):
        plain.exec_driver_sql(f"UPDATE link SET hash = '{digits}' WHERE seq = {seq}")
    with pytest.raises(FileRefused, match="--head"):
        restored(older, file)
