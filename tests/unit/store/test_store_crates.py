"""Statements about crates in the store: rows are only added, in turn, and a placing stands or falls with its run."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
import records

from pulldrop.model.crate.crate import Bin, CrateEvent, Happened, Placed
from pulldrop.model.run.record import RunRecord
from pulldrop.store import CrateRefused, Entry, RunHeader, Store

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)


def placed(number: int, run: str) -> CrateEvent:
    part = Placed(number=number, part=f"P{number:04d}", run=run, bin=Bin.KEEP, reasons=("good",), figures=(), at=NOW)
    return CrateEvent(kind=Happened.PLACED, at=NOW, number=number, run=run, placed=part)


def noted(number: int, text: str) -> CrateEvent:
    return CrateEvent(kind=Happened.NOTED, at=NOW, number=number, text=text)


def header(record: RunRecord) -> RunHeader:
    return RunHeader(**{name: getattr(record, name) for name in RunHeader.model_fields})


def test_what_happened_to_a_crate_reads_back_in_order(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "s.db")) as store:
        store.crate("north shed", True, NOW)
        for seq, text in enumerate(("chipped", "blue case"), 1):
            store.crate_event(Entry("north shed", seq, noted(seq, text)))
    with Store.open(str(tmp_path / "s.db")) as store:
        head, events = store.crate("north shed", True, NOW)
        assert head.begun == NOW and [one.text for one in events] == ["chipped", "blue case"]
        assert [one.name for one in store.all_crates()] == ["north shed"]


def test_a_second_program_at_the_same_crate_is_refused() -> None:
    with Store.open(":memory:") as store:
        store.crate("c", True, NOW)
        store.crate_event(Entry("c", 1, noted(1, "first")))
        with pytest.raises(CrateRefused, match="Another program sorts the crate c"):
            store.crate_event(Entry("c", 1, noted(1, "second")))


def test_a_part_is_placed_with_the_end_of_its_run_or_not_at_all() -> None:
    with Store.open(":memory:") as store:
        store.crate("c", True, NOW)
        store.crate_event(Entry("c", 1, noted(1, "someone else was here")))
        record = records.record()
        with store.run(header(record)) as run, pytest.raises(CrateRefused):
            run.finish(record.verdict, NOW, 1.0, entry=Entry("c", 1, placed(1, run.id)))
        assert store.record(run.id).ended is None, "the run's end went back with the placing"
        assert len(store.crate("c", True, NOW)[1]) == 1


def test_a_crate_never_mixes_real_and_simulated_parts() -> None:
    with Store.open(":memory:") as store:
        store.crate("c", True, NOW)
        with pytest.raises(CrateRefused, match="holds simulated parts"):
            store.crate("c", False, NOW)


@pytest.mark.parametrize("name", ["", "a/b", "x" * 41, "-c"])
def test_a_crates_name_is_writable_and_short(name: str) -> None:
    with Store.open(":memory:") as store, pytest.raises(CrateRefused, match="cannot be a crate's name"):
        store.crate(name, True, NOW)
