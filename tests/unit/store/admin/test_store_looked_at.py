"""Statements about looking at a store: nothing is made by it, what is no store is said to be none, and a medium that
takes no writing can be read; a missing end shows by the head that was noted by itself.
"""

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import databases
import pytest
import records
from sqlalchemy import Connection
from test_store import fill, header, keep

from pulldrop.cli.main import main
from pulldrop.store import NoStore, Store, StoreTrouble, locate
from pulldrop.store.exchange import backups, files

LOOKS = [
    ["parts", "list"], ["parts", "find", "horn"], ["parts", "show", "P0001"], ["health", "P0001"], ["fleet"],
    ["store", "info"], ["store", "verify"], ["store", "backup", "{folder}/b.db"], ["calibrate", "show"],
    ["report", "run", "P0001", "--out", "{folder}/r.html"], ["report", "part", "P0001", "--out", "{folder}/r.html"],
    ["page"],
]  # fmt: skip


@pytest.mark.parametrize("look", LOOKS, ids=" ".join)
def test_no_store_is_made_by_looking(look: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = tmp_path / "typo.db"
    assert main([one.format(folder=tmp_path) for one in look] + ["--store", str(where)]) == 2
    assert f"There is no store {where} yet" in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_the_usual_folder_is_not_made_by_looking(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pulldrop.store.database.place.user_data_path", lambda *_, **__: tmp_path / "new")
    with pytest.raises(NoStore):
        Store.look()
    assert list(tmp_path.iterdir()) == []


def test_an_empty_database_of_a_server_is_no_store(tmp_path: Path) -> None:
    where = databases.empty("postgresql", tmp_path)
    with pytest.raises(NoStore):
        Store.look(where)
    with databases.behind(where) as plain:
        assert plain.exec_driver_sql("SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").scalar_one() == 0


@pytest.mark.parametrize("size", [0, 1, 50])
def test_a_file_that_was_cut_off_at_its_head_is_no_whole_store(size: int, tmp_path: Path) -> None:
    file = tmp_path / "cut.db"
    file.write_bytes(b"SQLite format 3\0".ljust(50)[:size])
    with pytest.raises(StoreTrouble, match=f"not whole: the file has {size} bytes"):
        Store.look(str(file))
    if size:
        with pytest.raises(StoreTrouble, match="not whole"):
            Store.open(str(file))
    assert file.stat().st_size == size


@pytest.fixture
def read_only() -> Iterator[Path]:
    """A store in a folder in which nobody but root may write, with nothing left in its log."""
    folder = Path(tempfile.mkdtemp(prefix="pulldrop-medium-"))
    with Store.open(str(folder / "depot.db")) as store:
        fill(store)
    (folder / "depot.db").chmod(0o444)
    folder.chmod(0o555)
    yield folder / "depot.db"
    folder.chmod(0o755)
    shutil.rmtree(folder)


def test_a_store_on_a_read_only_medium_is_listed_verified_and_imported_from(read_only: Path) -> None:
    child = os.fork()
    if child == 0:  # an ordinary user, whom the folder's rights hold back
        try:
            if os.geteuid() == 0:
                os.setgid(65534)
                os.setuid(65534)
            with Store.look(str(read_only)) as store, Store.open(":memory:") as other:
                assert len(store.parts()) == 1 and store.verify().findings == ()
                assert files.import_from(other, str(read_only)).new == 2
            os._exit(0)
        except BaseException as error:
            print(repr(error), file=sys.stderr)
            os._exit(1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert [one.name for one in read_only.parent.iterdir()] == ["depot.db"]


def cut_off(plain: Connection, run: str, seq: str) -> None:
    """The newest entry, which began a run, and that run; then the working sums fit again."""
    with databases.unguarded(plain, "run", "link"):
        plain.exec_driver_sql(f"DELETE FROM run WHERE id = '{run}'")
        plain.exec_driver_sql(f"DELETE FROM link WHERE seq = {seq}")


@pytest.mark.parametrize("backend", databases.BACKENDS)
def test_a_missing_end_is_found_by_the_head_that_was_noted_by_itself(backend: str, tmp_path: Path) -> None:
    where = databases.new(backend, tmp_path)
    with Store.open(where) as store:
        keep(store, records.record())
        run = store.run(header(records.failed()))
        head = store.head()
    with databases.behind(where) as plain:
        cut_off(plain, run.id, head.partition(":")[0])
    with Store.open(where) as store:
        store.remake()
    (said,) = Store.look(where).verify().findings
    assert said.startswith("The store ends before entry") and "It was noted in" in said
    with Store.open(where) as store:
        keep(store, records.record(part="P0002"))
    assert Store.look(where).verify().findings != (), "what is written later does not hide it"


def test_a_store_that_is_restored_has_a_head_of_its_own(tmp_path: Path) -> None:
    where, backup = tmp_path / "depot.db", tmp_path / "backup.db"
    with Store.open(str(where)) as store:
        keep(store, records.record())
        backups.backup(store, backup)
        keep(store, records.failed())
    backups.restore(backup, locate(str(where)), True, records.STARTED)
    with Store.look(str(where)) as store:
        assert store.verify().findings == () and store.verify().noted_in
