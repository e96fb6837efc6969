"""Statements about two benches that gave one id to two parts: an import never makes one of them, and says so."""

import json
from datetime import timedelta
from pathlib import Path

import databases
import pytest
import records
from test_store import keep
from test_store_exchange import counts

from pulldrop.jobs.parts import keep as parts
from pulldrop.model.bench.kit import Golden
from pulldrop.model.crate.crate import Bin, CrateEvent, Happened, Placed
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.part_id import well_formed
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.store import Entry, NotKept, Store, locate
from pulldrop.store.exchange import backups, files
from pulldrop.store.exchange.origins import ImportResult

ID = "23Y"


@pytest.fixture(params=databases.BACKENDS)
def here(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The store of one bench, with a part 23Y."""
    return databases.filled(request.param, tmp_path, horn)[0]


@pytest.fixture
def there(tmp_path: Path) -> str:
    """The store of another bench that never heard of the first, with a part 23Y of its own and all about it."""
    copy, _ = databases.filled("sqlite", tmp_path, wiper)
    return str(Path(copy).rename(tmp_path / "cabin.db"))


def horn(store: Store) -> None:
    measured(store, "horn")


def wiper(store: Store) -> None:
    run = measured(store, "wiper").run
    store.part_event(PartEvent(part=ID, at=records.STARTED, kind=PartEventKind.NOTE, text="base is scorched"))
    store.mark_golden(Golden(part=ID, run=run, marked=records.STARTED))
    placed = Placed(number=1, part=ID, run=run, bin=Bin.KEEP, reasons=(), figures=(), at=records.STARTED)
    store.crate("Crate 9", True, records.STARTED)
    event = CrateEvent(kind=Happened.PLACED, at=records.STARTED, number=1, run=run, placed=placed)
    store.crate_event(Entry("Crate 9", 1, event))


def measured(store: Store, label: str, id: str = ID, days: int = 0) -> RunRecord:
    """One run of a part that the store knows by its id alone, as a person names it."""
    at = records.STARTED + timedelta(days=days)
    part = Relay(id=id, form="C", label=label)
    return keep(store, records.record().model_copy(update={"part": part, "started": at}))


def runs_by_birth(store: Store) -> dict[tuple[str, ...], list[str]]:
    return {line.part.births: [run.run for run in store.runs(line.part.id)] for line in store.parts()}


def in_file(record: RunRecord, folder: Path, name: str = "cabin.json") -> str:
    (folder / name).write_text(json.dumps([json.loads(record.model_dump_json())]), encoding="utf-8")
    return str(folder / name)


def test_two_parts_with_one_id_stay_two_with_all_that_belongs_to_each(here: str, there: str) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        own, arrived = store.runs(ID), other.runs(ID)
        taken = files.import_from(store, there, files.Asked(head=other.head()))
        assert (taken.new, taken.refused) == (1, [])
        (id,) = [line.part.id for line in store.parts() if line.part.id != ID]
        assert well_formed(id) and store.runs(ID) == own
        assert [run.run for run in store.runs(id)] == [run.run for run in arrived]
        assert store.part(id).part.births == other.part(ID).part.births != store.part(ID).part.births
        assert (store.part(ID).part.label, store.part(id).part.label) == ("horn", "wiper")
        assert [event.text for event in store.part_events(ID)] == []
        assert "base is scorched" in [event.text for event in store.part_events(id)]
        assert (store.golden(ID), store.golden(id)) == (
            None,
            Golden(part=id, run=arrived[0].run, marked=records.STARTED),
        )
        (event,) = store.crate("Crate 9", True, records.STARTED)[1]
        assert event.placed is not None and event.placed.part == id
        assert store.verify().findings == ()


def test_the_person_is_told_which_label_to_write_anew(here: str, there: str) -> None:
    with Store.open(here) as store:
        (said,) = files.import_from(store, there).renamed
        (id,) = [line.part.id for line in store.parts() if line.part.id != ID]
        assert (
            said.startswith("Part 23Y of cabin.db is another than the part 23Y here.") and f"write {id} on it" in said
        )


def test_the_part_is_found_by_its_old_id_too_and_both_by_it_together(here: str, there: str) -> None:
    with Store.open(here) as store:
        files.import_from(store, there)
        found = {one.part.id: one for one in parts.find(store, "23y")}
        assert len(found) == 2 and ID in found
        (id,) = found.keys() - {ID}
        assert (found[ID].also, found[id].also) == ((), (ID,))
        assert parts.resolve(
            store, ID
        ) == ID and f"{ID} is also written on {id} (FROM OUTSIDE, UNVERIFIED: wiper)" in parts.mistakable(store, ID)
        assert parts.mistakable(store, id) == ""


def test_taking_in_the_same_again_changes_nothing(here: str, there: str, tmp_path: Path) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        files.import_from(store, there)
        before = counts(here)
        whole = in_file(other.record(other.runs(ID)[0].run), tmp_path)
        for source in (there, there, whole):
            assert files.import_from(store, source) == ImportResult(known=1)
        assert counts(here) == before


def test_an_import_that_was_cut_off_goes_on_where_it_ended(
    here: str, there: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        measured(other, "wiper", days=2)
        with monkeypatch.context() as cut:
            cut.setattr("pulldrop.store.exchange.merge.RUNS_AT_ONCE", 1)
            cut.setattr("pulldrop.store.exchange.others.import_other_rows", lambda *_: 1 / 0)
            with pytest.raises(ZeroDivisionError):
                files.import_from(store, there)
        assert files.import_from(store, there).known == 2
        assert len(store.parts()) == 2 and len(store.runs(ID)) == 1
        (id,) = [line.part.id for line in store.parts() if line.part.id != ID]
        assert "base is scorched" in [event.text for event in store.part_events(id)]
        assert store.verify().findings == ()


def test_a_part_with_another_id_here_goes_on_with_its_history(here: str, there: str) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        files.import_from(store, there)
        later = measured(other, "wiper", days=2)
        assert files.import_from(store, there) == ImportResult(new=1, known=1)
        (id,) = [line.part.id for line in store.parts() if line.part.id != ID]
        assert [run.run for run in store.runs(id)][1:] == [later.run] and len(store.runs(ID)) == 1
        assert store.record(later.run).part.id == id
        assert store.verify().findings == (), "its sums too"


def test_both_benches_end_with_the_same_histories_and_then_nothing_is_new(here: str, there: str) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        for _ in range(2):
            files.import_from(store, there, files.Asked(head=other.head()))
            files.import_from(other, here, files.Asked(head=store.head()))
        assert runs_by_birth(store) == runs_by_birth(other) and len(store.parts()) == 2
        before = counts(here), counts(there)
        again = files.import_from(store, there, files.Asked(head=other.head()))
        assert again == files.import_from(other, here, files.Asked(head=store.head())) == ImportResult(known=2)
        assert (counts(here), counts(there)) == before
        for asked, away in ((store, other), (other, store)):
            for line in asked.parts():
                also = parts.view(asked, line).also
                assert len(also) == 1 and line.part.id not in also
                (name,) = {line.part.id, *also} - {ID}
                assert away.part(parts.resolve(away, name)).part.births == line.part.births, "one new label says all"
            assert asked.verify().findings == ()


def test_each_bench_knows_the_id_that_its_part_has_at_the_other(here: str, there: str) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        files.import_from(store, there, files.Asked(head=other.head()))
        (id,) = [line.part.id for line in store.parts() if line.part.id != ID]
        said = " ".join(files.import_from(other, here).renamed)
        assert f"Part {id} of" in said and "--head" in said
        with pytest.raises(NotKept):
            parts.resolve(other, id)
        files.import_from(other, here, files.Asked(head=store.head()))
        assert parts.resolve(other, id) == ID, "the label that was rewritten is known where the part was born"


def test_a_part_that_came_by_an_import_and_was_tested_there_is_one(here: str, tmp_path: Path) -> None:
    with Store.open(here) as store, Store.open(str(tmp_path / "cabin.db")) as other:
        files.import_from(other, here)
        later = measured(other, "horn", days=2)
        assert files.import_from(store, str(tmp_path / "cabin.db")) == ImportResult(new=1, known=1)
        assert [run.run for run in store.runs(ID)][1:] == [later.run] and len(store.parts()) == 1


@pytest.mark.parametrize("same", [ID, "23?", "*"])
def test_by_a_persons_word_two_are_one_and_stay_so(here: str, there: str, tmp_path: Path, same: str) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        assert files.import_from(store, there, files.Asked([same])).renamed == []
        assert len(store.runs(ID)) == 2 and len(store.parts()) == 1
        assert set(store.part(ID).part.births) > set(other.part(ID).part.births)
        later = measured(other, "wiper", days=2)
        assert files.import_from(store, in_file(other.record(later.run), tmp_path)) == ImportResult(new=1)
        assert len(store.runs(ID)) == 3, "the word need not be said again"
        assert files.import_from(other, here) == ImportResult(new=1, known=2)
        assert len(other.parts()) == 1, "the other bench learns it by an import"
        assert store.verify().findings == other.verify().findings == ()


def test_a_persons_word_holds_for_the_parts_that_it_names_alone(here: str, there: str) -> None:
    with Store.open(here) as store:
        assert len(files.import_from(store, there, files.Asked(["24W"])).renamed) == 1
        assert len(store.parts()) == 2


def test_records_in_a_file_are_told_apart_as_a_store_is(here: str, there: str, tmp_path: Path) -> None:
    with Store.open(here) as store, Store.open(there) as other:
        file = in_file(other.record(other.runs(ID)[0].run), tmp_path)
        (said,) = files.import_from(store, file).renamed
        assert said.startswith("Part 23Y of cabin.json is another than the part 23Y here.")
        ids = [line.part.id for line in store.parts()]
        assert files.import_from(store, there).new == 0
        assert [line.part.id for line in store.parts()] == ids, "the store brings no third part"


def test_two_parts_with_one_id_in_one_file_are_two(tmp_path: Path) -> None:
    made = [records.record(part=f"P{n}") for n in (1, 2)]
    file = tmp_path / "both.json"
    file.write_text(json.dumps([
        json.loads(one.model_copy(update={"part": one.part.model_copy(update={"id": ID})}).model_dump_json())
        for one in made
    ]))  # fmt: skip
    with Store.open(":memory:") as store:
        assert files.import_from(store, str(file)).new == 2
        assert [len(store.runs(line.part.id)) for line in store.parts()] == [1, 1]


def test_a_record_without_births_is_known_by_its_run_and_else_is_another_part(here: str, tmp_path: Path) -> None:
    with Store.open(here) as store:
        bare = Relay(id=ID, form="C", label="horn")
        known = store.record(store.runs(ID)[0].run).model_copy(update={"part": bare})
        assert files.import_from(store, in_file(known, tmp_path)) == ImportResult(known=1)
        unknown = known.model_copy(update={"run": "20250101T080000-aaaaaa"})
        assert len(files.import_from(store, in_file(unknown, tmp_path)).renamed) == 1
        assert len(store.runs(ID)) == 1 and len(store.parts()) == 2


def test_parts_are_one_that_share_a_run_though_each_store_gave_them_a_birth(here: str, tmp_path: Path) -> None:
    where = str(tmp_path / "cabin.db")
    with Store.open(here) as store, Store.open(where) as other:
        bare = store.record(store.runs(ID)[0].run)
        bare = bare.model_copy(update={"part": bare.part.model_copy(update={"births": ()})})
        files.import_from(other, in_file(bare, tmp_path))
        assert other.part(ID).part.births != store.part(ID).part.births
        measured(other, "horn", days=2)
        assert files.import_from(store, where) == ImportResult(new=1, known=1)
        assert len(store.parts()) == 1 and len(store.runs(ID)) == 2


def test_a_store_that_was_restored_is_the_one_that_it_was(here: str, there: str, tmp_path: Path) -> None:
    file, again = tmp_path / "backup.db", str(tmp_path / "again.db")
    with Store.open(here) as store:
        files.import_from(store, there)
        backups.backup(store, file)
        backups.restore(file, locate(again), False, records.STARTED)
        with Store.open(again) as back:
            assert back.parts() == store.parts()
            assert files.import_from(back, here) == ImportResult(known=2)
            assert files.import_from(back, there) == ImportResult(known=1)


def test_a_real_part_and_a_simulated_one_with_the_same_id_are_two(here: str, tmp_path: Path) -> None:
    real = records.record(kind="real", part="P1")
    real = real.model_copy(update={"part": real.part.model_copy(update={"id": ID})})
    with Store.open(here) as store:
        assert len(files.import_from(store, in_file(real, tmp_path)).renamed) == 1
        assert sorted(line.simulated for line in store.parts()) == [False, True]
        by_word = real.model_copy(update={"run": "20250101T080000-aaaaaa", "part": real.part.model_copy(
            update={"births": ("20250101T080000-another",)})})  # fmt: skip
        taken = files.import_from(store, in_file(by_word, tmp_path), files.Asked([ID]))
        assert taken.new == 0 and "23Y is a simulated part" in taken.refused[0]
        assert store.verify().findings == ()
