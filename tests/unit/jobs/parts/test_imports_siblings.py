"""Statements about runs that were judged beside siblings: the record keeps these, and elsewhere is judged by them."""

from pathlib import Path

import pytest

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.parts.imports import import_from
from pulldrop.jobs.parts.siblings import reference_of
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.protocol.load import plan
from pulldrop.store import Store

PLAN = plan("relay-diagnose", "class-mini-12v-form-c")


def run_of(store: Store, specimen: str, seed: int, siblings: TypeReference | None = None) -> RunRecord:
    with VirtualBoard(find(specimen).specimen, seed) as board:
        task = Task(plan=PLAN, part=Relay(id="", form="C"), siblings=siblings)
        return run_one(task, board, store, lambda _: None)


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, RunRecord]:
    """A store of three sound parts, and of one whose fault was named beside them."""
    where = tmp_path_factory.mktemp("there") / "cabin.db"
    with Store.open(str(where)) as store:
        sound = [run_of(store, "good-12v-changeover", seed).part.id for seed in (5, 6, 7)]
        return where, run_of(store, "weak-spring", 4, reference_of(store, PLAN, sound, True))


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "record.json"


def test_a_sound_run_that_was_judged_beside_siblings_is_taken_from_a_store(there: tuple[Path, RunRecord]) -> None:
    where, record = there
    assert [one.id for one in record.faults][:1] == ["weak_spring"], "which it is not without them"
    with Store.open(":memory:") as here:
        taken = import_from(here, str(where))
        assert (taken.new, taken.refused) == (4, [])
        assert here.record(record.run).siblings == record.siblings is not None
        assert import_from(here, str(where)).known == 4
        assert here.verify().findings == ()


def test_it_is_taken_from_a_file_and_refused_without_them_or_beside_others(
    there: tuple[Path, RunRecord], file: Path
) -> None:
    record = there[1]
    assert record.siblings is not None
    others = record.siblings.model_copy(update={"version": record.plan.version + 1})
    for siblings, said in ((record.siblings, ""), (None, "does not follow"), (others, "protocol of the siblings")):
        file.write_text(record.model_copy(update={"siblings": siblings}).model_dump_json())
        with Store.open(":memory:") as here:
            taken = import_from(here, str(file))
        assert taken.new == (not said) and said in "".join(taken.refused)


def test_a_run_that_is_here_is_not_the_same_beside_other_siblings(there: tuple[Path, RunRecord], file: Path) -> None:
    where, record = there
    file.write_text(record.model_copy(update={"siblings": None}).model_dump_json())
    with Store.open(":memory:") as here:
        import_from(here, str(where))
        assert "is here already and not the same" in import_from(here, str(file)).refused[0]
