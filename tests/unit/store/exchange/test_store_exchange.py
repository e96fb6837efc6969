"""Statements about backup, restore and import: nothing is doubled or overwritten, and a source stays as it was."""

import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

import databases
import pytest
import records
from test_store import fill, header, keep

from pulldrop.jobs.parts import keep as parts
from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.model.origin import Origin
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.store import Store, StoreError, StoreTrouble, locate
from pulldrop.store.admin import version
from pulldrop.store.database.tables import RECORDS
from pulldrop.store.exchange import backups, files
from pulldrop.store.exchange.origins import ImportResult
from pulldrop.store.exchange.records_file import FileRefused


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return databases.new(request.param, tmp_path)


def counts(where: str) -> dict[str, int]:
    with databases.behind(where) as plain:
        return {t.name: plain.exec_driver_sql(f"SELECT count(*) FROM {t.name}").scalar_one() for t in RECORDS}


def rescue_of(record: RunRecord, folder: Path) -> str:
    file = folder / "rescue.json"
    file.write_text(record.model_dump_json(indent=1), encoding="utf-8")
    return str(file)


Noun = TypeVar("Noun", RunRecord, CalibrationRecord)


def plain(noun: Noun) -> Noun:
    """Without how it came."""
    assert noun.arrived is not None
    return noun.model_copy(update={"arrived": None})


def at_another_bench(folder: Path, part: str = "P0777") -> str:
    """The store of a bench that was offline."""
    where = str(folder / "offline.db")
    with Store.open(where) as store:
        fill(store)
        later = records.failed(part=part).model_copy(update={"started": records.STARTED + timedelta(days=2)})
        keep(store, later)
        store.new_part(Relay(id="P0801", form="A", label="spare"), False)
    return where


def test_a_rescued_run_comes_back_as_it_was_and_only_once(where: str, tmp_path: Path) -> None:
    record = records.failed(faults=(records.FAULT,))
    with Store.open(where) as store:
        assert files.import_from(store, rescue_of(record, tmp_path)).new == 1
        assert plain(store.record(record.run)) == record
        before = counts(where)
        assert files.import_from(store, rescue_of(record, tmp_path)) == ImportResult(known=1)
        assert counts(where) == before
        assert store.verify().findings == ()
        assert [line.runs for line in store.parts()] == [1]


def test_a_run_that_was_cut_off_is_completed_from_its_rescue_file(where: str, tmp_path: Path) -> None:
    with Store.open(where) as store:
        begun = keep(store, records.interrupted())
        whole = records.record().model_copy(update={"run": begun.run})
        assert files.import_from(store, rescue_of(whole, tmp_path)).completed == 1
        assert plain(store.record(begun.run)) == whole
        assert store.verify().findings == ()
        assert files.import_from(store, rescue_of(whole, tmp_path)).known == 1
        assert files.import_from(store, rescue_of(begun, tmp_path)).known == 1, "less of the same run is known too"
        assert store.fleet_sums(True, datetime.now(UTC), 6, 3.5, 50).kinds


def test_another_run_under_the_same_id_is_refused_and_changes_nothing(where: str, tmp_path: Path) -> None:
    with Store.open(where) as store:
        kept = keep(store, records.record())
        for other in (
            records.failed().model_copy(update={"run": kept.run}),
            kept.model_copy(update={"operator": "somebody else"}),
            kept.model_copy(update={"verdict": records.verdict(Overall.FAIL)}),
        ):
            taken = files.import_from(store, rescue_of(other, tmp_path))
            assert (taken.new, len(taken.refused)) == (0, 1) and "not the same; it stays as it is" in taken.refused[0]
        assert store.record(kept.run) == kept


def test_a_run_that_was_cut_off_is_not_completed_by_one_that_began_otherwise(where: str, tmp_path: Path) -> None:
    with Store.open(where) as store:
        begun = keep(store, records.interrupted())
        first, *rest = records.good()
        other = records.record(judged=(first.model_copy(update={"reason": "another"}), *rest))
        taken = files.import_from(store, rescue_of(other.model_copy(update={"run": begun.run}), tmp_path))
        assert (taken.completed, len(taken.refused)) == (0, 1)
        assert (store.record(begun.run).judged, store.record(begun.run).ended) == (begun.judged, None)


def test_real_and_simulated_runs_are_not_mixed_by_an_import(where: str, tmp_path: Path) -> None:
    with Store.open(where) as store:
        keep(store, records.record(kind="virtual"))
        real = records.record(kind="real").model_copy(update={"run": "20260504T093015-ffffff"})
        taken = files.import_from(store, rescue_of(real, tmp_path))
        assert taken.new == 0 and "P0001 is a simulated part" in taken.refused[0]


def test_an_offline_bench_catches_up_by_import_and_twice_is_as_once(where: str, tmp_path: Path) -> None:
    source = at_another_bench(tmp_path)
    with Store.open(where) as store, Store.open(source) as other:
        keep(store, records.record(part="P0900"))
        taken = files.import_from(store, source)
        assert (taken.new, taken.known, taken.refused) == (3, 0, [])
        for line in other.parts():
            assert replace(store.part(line.part.id), described=line.described) == line
            assert [plain(store.record(run.run)) for run in store.runs(line.part.id)] == [
                other.record(run.run) for run in other.runs(line.part.id)
            ]
        assert [plain(one) for one in store.calibrations()] == list(other.calibrations())
        assert store.golden("P0001") is None, "nothing vouches for it"
        theirs = [one.model_copy(update={"came": Origin.OUTSIDE}) for one in other.part_events()]
        assert list(store.part_events()) == theirs
        assert store.history("P0001").judgements == other.history("P0001").judgements != ()
        assert store.verify().findings == ()
        before = counts(where)
        again = files.import_from(store, source)
        assert (again.new, again.known, again.other, again.refused) == (0, 3, 0, [])
        assert counts(where) == before


def test_a_source_is_never_changed_even_when_it_is_of_an_earlier_version(
    where: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = tmp_path / "cabin.db"
    with Store.open(str(source)) as cabin:
        fill(cabin)
        runs = cabin.info().runs
    before = source.read_bytes()
    monkeypatch.setattr(version, "STEPS", (lambda _: None,))
    with Store.open(where) as store:
        assert files.import_from(store, str(source)).new == runs
        assert files.import_from(store, str(source)).known == runs
    assert source.read_bytes() == before


def test_two_benches_that_write_at_once_share_one_chain(where: str) -> None:
    with Store.open(where) as one, Store.open(where) as two:
        first, second = one.run(header(records.record())), two.run(header(records.failed(part="P0002")))
        for a, b in zip(records.record().judged, records.failed().judged, strict=True):
            first.add(a)
            second.add(b)
        for run, record in ((first, records.record()), (second, records.failed())):
            assert record.ended is not None
            run.finish(record.verdict, record.ended, 1.0)
        assert one.verify() == two.verify()
        assert one.verify().findings == ()


def test_benches_that_write_at_the_same_moment_wait_for_each_other(where: str) -> None:
    def measure(bench: int) -> list[RunRecord]:
        with Store.open(where) as store:
            return [keep(store, records.record(part=f"B{bench}")) for _ in range(6)]

    with ThreadPoolExecutor() as pool:
        kept = [record for bench in pool.map(measure, range(4)) for record in bench]
    with Store.open(where) as store:
        assert [store.record(one.run) for one in kept] == kept
        assert [line.runs for line in store.parts()] == [6, 6, 6, 6]
        assert store.verify().findings == ()


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"run": 1}', "not JSON"])
def test_a_file_that_is_no_record_is_refused_in_a_sentence(tmp_path: Path, text: str) -> None:
    file = tmp_path / "notes.json"
    file.write_text(text)
    with Store.open(":memory:") as store, pytest.raises(FileRefused, match="neither a store nor the record of a run"):
        files.import_from(store, str(file))


def test_a_record_that_was_made_real_by_hand_is_refused(tmp_path: Path) -> None:
    file = Path(rescue_of(records.record(kind="virtual"), tmp_path))
    whole = file.read_text()
    for forged in (whole.replace('"simulated": true', '"simulated": false'), whole.replace('"virtual"', '"real"')):
        assert forged != whole
        file.write_text(forged)
        with Store.open(":memory:") as store, pytest.raises(FileRefused, match="changed after it was written"):
            files.import_from(store, str(file))


def test_a_source_of_a_later_pulldrop_is_refused_by_its_own_name(tmp_path: Path) -> None:
    later = tmp_path / "cabin.db"
    Store.open(str(later)).close()
    with closing(sqlite3.connect(later)) as plain:
        plain.execute("PRAGMA user_version = 999")
    with Store.open(":memory:") as store, pytest.raises(StoreTrouble) as told:
        files.import_from(store, str(later))
    assert str(told.value).startswith(f"The store {later} was written by a later pulldrop")


def test_a_source_that_is_not_there_makes_no_new_store(tmp_path: Path) -> None:
    with Store.open(":memory:") as store, pytest.raises(StoreError, match="Check its name"):
        files.import_from(store, str(tmp_path / "typo.db"))
    assert list(tmp_path.iterdir()) == []


def test_a_backup_made_while_a_run_goes_on_is_whole_and_can_be_a_store(where: str, tmp_path: Path) -> None:
    file = tmp_path / "backup.db"
    with Store.open(where) as store:
        kept = fill(store)
        with store.run(header(records.record())) as run:
            run.add(records.record().judged[0])
            head = backups.backup(store, file).head
            run.add(records.record().judged[1])
        assert head != store.head()
        assert store.verify(head).findings == ()
    with Store.open(str(file)) as copy:
        assert copy.head() == head
        assert copy.verify(head).findings == ()
        assert copy.record(kept.run) == kept
        assert len(copy.record(run.id).judged) == 1
    assert [one.name for one in tmp_path.glob("backup*")] == ["backup.db"]


def test_photos_go_where_their_store_goes(tmp_path: Path) -> None:
    picture, file, back = tmp_path / "case.png", tmp_path / "far" / "backup.db", tmp_path / "back" / "again.db"
    picture.write_bytes(b"invented picture")
    file.parent.mkdir()
    back.parent.mkdir()
    with Store.open(str(tmp_path / "first.db")) as store:
        name = parts.add_photo(store, fill(store).part.id, picture, "case").photo
        backups.backup(store, file)
    backups.restore(file, locate(str(back)), False, records.STARTED)
    with Store.open(str(back)) as store, Store.open(str(tmp_path / "other.db")) as other:
        assert store.photo(name).read_bytes() == picture.read_bytes()
        files.import_from(other, str(back))
        assert other.photo(name).read_bytes() == picture.read_bytes()


def test_a_backup_overwrites_nothing(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("not to be lost")
    with Store.open(":memory:") as store:
        with pytest.raises(FileRefused, match="is there already"):
            backups.backup(store, tmp_path / "notes.txt")
        with pytest.raises(FileRefused, match="no folder"):
            backups.backup(store, tmp_path / "typo" / "b.db")
    assert (tmp_path / "notes.txt").read_text() == "not to be lost"


@pytest.fixture
def backed_up(tmp_path: Path) -> Path:
    file = tmp_path / "backup.db"
    with Store.open(str(tmp_path / "first.db")) as store:
        fill(store)
        backups.backup(store, file)
    return file


@pytest.mark.parametrize("backend", databases.BACKENDS)
def test_a_backup_becomes_the_store_where_there_was_none(backend: str, tmp_path: Path, backed_up: Path) -> None:
    where = databases.empty(backend, tmp_path)
    made = backups.restore(backed_up, locate(where), False, records.STARTED)
    head, aside = made.head, made.aside
    with Store.open(where) as store, Store.open(str(backed_up)) as source:
        assert aside is None and store.head() == head == source.head()
        assert store.verify().findings == ()
        assert store.parts() == source.parts()
        keep(store, records.record(part="P0555"))
        assert store.verify(head).findings == ()


def test_restore_moves_a_store_aside_only_when_told(tmp_path: Path, backed_up: Path) -> None:
    there = tmp_path / "there.db"
    with Store.open(str(there)) as store:
        kept = keep(store, records.record(part="P0600"))
    with pytest.raises(FileRefused, match="say --replace"):
        backups.restore(backed_up, locate(str(there)), False, records.STARTED)
    with Store.open(str(there)) as store:
        assert store.record(kept.run) == kept
    head = Store.look(str(backed_up)).head()
    aside = backups.restore(backed_up, locate(str(there)), True, records.STARTED, head).aside
    assert aside is not None
    with Store.open(str(aside)) as before, Store.open(str(there)) as now:
        assert before.record(kept.run) == kept
        assert [line.part.id for line in now.parts()] == ["P0001"]


def test_a_servers_store_that_holds_something_is_not_restored_over(tmp_path: Path, backed_up: Path) -> None:
    where = databases.new("postgresql", tmp_path)
    with Store.open(where) as store:
        keep(store, records.record())
    with pytest.raises(FileRefused, match="not empty"):
        backups.restore(backed_up, locate(where), True, records.STARTED)


def _alter(file: Path) -> None:
    with databases.behind(str(file)) as plain, databases.unguarded(plain, "run_end"):
        plain.exec_driver_sql("UPDATE run_end SET overall = 'fail'")


def _cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:20_000])


@pytest.mark.parametrize("spoil", [_alter, _cut, lambda file: file.write_text("notes")])
def test_a_backup_that_is_not_whole_is_refused_and_the_store_stays(
    tmp_path: Path, backed_up: Path, spoil: Callable[[Path], None]
) -> None:
    there = tmp_path / "there.db"
    with Store.open(str(there)) as store:
        kept = keep(store, records.failed())
    spoil(backed_up)
    with pytest.raises(StoreError):
        backups.restore(backed_up, locate(str(there)), True, records.STARTED)
    with Store.open(str(there)) as store:
        assert store.record(kept.run) == kept
