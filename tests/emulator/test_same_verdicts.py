"""Every part in stock gets the same verdict from the compiled firmware on its serial port as from the virtual board."""

import sys
from pathlib import Path

import pytest

from pulldrop.jobs.boards import open_board
from pulldrop.jobs.choose import plan_for_specimen
from pulldrop.jobs.specimens import find
from pulldrop.jobs.test_one import Task, run_one
from pulldrop.model.record import Part, RunRecord
from pulldrop.model.verdict import Outcome
from pulldrop.plant import stock
from pulldrop.store import Store

sys.path.append(str(Path(__file__).parents[1] / "unit"))
from stock_faults import OF_OTHER_SORTS

SEED = 2


def record(board_kind: str, name: str, folder: Path) -> RunRecord:
    part = find(name)
    task = Task(plan_for_specimen(part.specimen), Part(id="", form=part.specimen.form), specimen=part.text, seed=SEED)
    with open_board(board_kind, part, SEED) as board, Store.open(str(folder / f"{board_kind}.db")) as store:
        return run_one(task, board, store, lambda event: None)


@pytest.mark.parametrize("name", sorted({*stock.names()} - {*OF_OTHER_SORTS}))
def test_a_part_in_stock_gets_the_same_verdict_on_both_boards(name: str, tmp_path: Path) -> None:
    virtual, emulated = record("virtual", name, tmp_path), record("emulated", name, tmp_path)
    assert emulated.board.kind == "emulated" and emulated.simulated
    assert emulated.verdict.overall == virtual.verdict.overall, emulated.verdict.found
    assert [j.id for j in emulated.judged] == [j.id for j in virtual.judged]
    for ours, theirs in zip(emulated.judged, virtual.judged, strict=True):
        # Scatter from make to make may carry one of two medians near a limit into "unsure"; nothing else may differ.
        assert ours.outcome == theirs.outcome or Outcome.UNSURE in (ours.outcome, theirs.outcome), ours.id
