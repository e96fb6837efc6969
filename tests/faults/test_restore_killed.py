"""Restoring beside an open bench, and killed at every step: no run is lost, and none goes where nobody looks for it."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
import records
from test_store import fill, header, keep

from pulldrop.cli.main import main
from pulldrop.jobs.parts import keep as parts
from pulldrop.store import Store, StoreTrouble
from pulldrop.store.database.place import locate
from pulldrop.store.exchange import backups

BEFORE, LATER, LAST = "P0001", "P0555", "P0777"


@pytest.fixture
def depot(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A store with a photo, and a backup of it beside, made before the last run."""
    monkeypatch.setattr("pulldrop.store.database.place.LOCK_WAIT_S", 0.1)
    (tmp_path / "case.png").write_bytes(b"invented picture")
    file = tmp_path / "bench" / "depot.db"
    file.parent.mkdir()
    with Store.open(str(file)) as store:
        parts.add_photo(store, fill(store).part.id, tmp_path / "case.png", "case")
        backups.backup(store, tmp_path / "backup.db")
    return file


def in_child(work: Callable[[], object]) -> int:
    """The exit code of a child that does this and ends as a kill ends it: nothing is closed."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            work()
            code = 0
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def killed_at(step: int, work: Callable[[], object]) -> int:
    """The same, killed before the `step`th change to a folder; 9 if there were so many."""

    def work_and_die() -> None:
        steps = iter(range(1, step))

        def counted(change: Callable[..., object]) -> Callable[..., object]:
            return lambda *given, **more: change(*given, **more) if next(steps, None) else os._exit(9)

        for name in ("replace", "unlink", "link", "mkdir"):
            setattr(os, name, counted(getattr(os, name)))
        work()

    return in_child(work_and_die)


def held(file: Path) -> set[str]:
    """The parts of a store that is as it was written, its photos too."""
    with Store.look(str(file)) as store:
        assert [
            one for one in store.verify(store.head()).findings if "no event names" not in one and "noted in" not in one
        ] == []
        return {line.part.id for line in store.parts()}


def test_a_restore_is_refused_while_another_program_has_the_store_open(
    depot: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bench = Store.open(str(depot))
    keep(bench, records.record(part=LATER))
    restore = ["store", "restore", str(tmp_path / "backup.db"), "--replace", "--store", str(depot)]
    assert main(restore) == 2
    assert "another program has it open" in " ".join(capsys.readouterr().err.split())
    keep(bench, records.record(part=LAST))
    bench.close()
    assert held(depot) == {BEFORE, LATER, LAST} and not list(depot.parent.glob("*-before-*"))
    assert main(restore) == 0
    assert held(depot) == {BEFORE}


@pytest.mark.parametrize("gone", [True, False])
def test_a_bench_whose_store_was_moved_or_replaced_says_so_and_rescues_its_run(
    depot: Path, tmp_path: Path, gone: bool
) -> None:
    bench = Store.open(str(depot))
    with bench.run(header(records.record(part=LATER))) as run:
        depot.replace(tmp_path / "moved.db")
        if not gone:
            (tmp_path / "backup.db").replace(depot)
        with pytest.raises(StoreTrouble, match="moved or replaced") as caught:
            run.add(records.record().judged[0])
    assert caught.value.rescue is not None and caught.value.rescue.exists()
    with pytest.raises(StoreTrouble, match="moved or replaced"):
        keep(bench, records.record(part=LAST))
    bench.close()


def test_a_restore_that_is_killed_at_any_step_loses_no_run_and_no_photo(depot: Path, tmp_path: Path) -> None:
    assert in_child(lambda: keep(Store.open(str(depot)), records.record(part=LATER))) == 0
    assert depot.with_name("depot.db-wal").stat().st_size, "the last run is in the log alone"
    for step in range(1, 50):
        copy = tmp_path / f"killed{step}" / depot.name
        assert in_child(lambda to=copy.parent: os.execvp("cp", ["cp", "-r", str(depot.parent), str(to)])) == 0  # type: ignore[misc]
        place = locate(str(copy))
        code = killed_at(
            step,
            lambda at=place: backups.restore(tmp_path / "backup.db", at, True, records.STARTED),  # type: ignore[misc]
        )
        asides = [one for one in copy.parent.glob("*-before-*") if one.suffix == ".db"]
        assert held(copy) == {BEFORE, LATER} or (
            held(copy) == {BEFORE} and [held(one) for one in asides] == [{BEFORE, LATER}]
        )
        if code == 0:
            break
    assert code == 0 and step > 5 and held(copy) == {BEFORE}


def test_a_store_that_is_missing_is_looked_for_among_those_that_were_moved_aside(
    depot: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    aside = depot.with_name("depot-before-20261130T180000.db")
    depot.replace(aside)
    assert main(["parts", "list", "--store", str(depot)]) == 2
    assert aside.name in "".join(capsys.readouterr().err.split())


def test_a_damaged_store_is_moved_aside_with_its_log(depot: Path, tmp_path: Path) -> None:
    log, damaged = depot.with_name("depot.db-wal"), b"SQLite format 3\x00" + b"no store" * 500
    depot.write_bytes(damaged)
    log.write_bytes(b"a log")
    aside = backups.restore(tmp_path / "backup.db", locate(str(depot)), True, records.STARTED).aside
    assert aside is not None and aside.read_bytes() == damaged
    assert aside.with_name(f"{aside.name}-wal").read_bytes() == b"a log"
    assert held(depot) == {BEFORE}
