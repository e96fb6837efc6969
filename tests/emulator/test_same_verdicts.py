"""Every part in stock gets the same verdict from the compiled firmware on its serial port as from the virtual board.

One run answers two questions: does it end in the same verdict, and does it lead to the same named fault?
"""

import sys
from pathlib import Path

import pytest

from pulldrop.jobs.run.boards import open_socket
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.hands import virtual_hand
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import RunOptions, Task, run_one
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import Part, RunRecord
from pulldrop.model.steps.film import FilmStep
from pulldrop.model.steps.hot import HotStep
from pulldrop.model.steps.motion import MotionStep
from pulldrop.model.steps.rise import RiseStep
from pulldrop.model.steps.sticking import StickingStep
from pulldrop.model.steps.timing import TimingStep
from pulldrop.model.verdict import Outcome
from pulldrop.plant import stock
from pulldrop.store import Store

sys.path.append(str(Path(__file__).parents[1] / "unit"))
from stock_faults import NAMED, OF_OTHER_SORTS, plan_for

SEED = 2
FEWEST = {
    MotionStep: {"makes": 3},
    FilmStep: {"makes": 6},
    TimingStep: {"makes": 3},
    StickingStep: {"makes": 3},
    RiseStep: {"pulses": 4},
    HotStep: {"makes": 2},
}
"""So few loads that the board's duty limit makes nobody wait, for the emulated board takes its time."""
DIAGNOSED = [*NAMED, "good-12v-changeover"]
QUICK = [
    *sorted({*stock.names()} - {*OF_OTHER_SORTS, *NAMED}),
    "burnt-no",
    "open-coil",
    "shorted-coil",
    "stuck-operated",
    "weak-spring",
]
"""Every sound part, and of the others one for each way in which the quick protocol ends."""


def shortened(at: Plan) -> Plan:
    """The same steps with few makes."""
    return at.model_copy(update={"steps": tuple(s.model_copy(update=FEWEST.get(type(s), {})) for s in at.steps)})


def record(board_kind: str, name: str, at: Plan) -> RunRecord:
    part = find(name)
    task = Task(at, Part(id="", form=at.form), specimen=part.text, seed=SEED)
    with open_socket(board_kind, part, SEED) as opened, Store.open(":memory:") as store:
        assert opened.leads
        return run_one(task, opened.board, store, lambda event: None, RunOptions(hand=virtual_hand(opened.leads)))


def same_verdict(name: str, at: Plan) -> RunRecord:
    virtual, emulated = record("virtual", name, at), record("emulated", name, at)
    assert emulated.board.kind == "emulated" and emulated.simulated
    assert emulated.verdict.overall == virtual.verdict.overall, emulated.verdict.found
    assert [j.id for j in emulated.judged] == [j.id for j in virtual.judged]
    for ours, theirs in zip(emulated.judged, virtual.judged, strict=True):
        # Scatter from make to make may carry one of two medians near a limit into "unsure"; nothing else may differ.
        assert ours.outcome == theirs.outcome or Outcome.UNSURE in (ours.outcome, theirs.outcome), ours.id
    return emulated


@pytest.mark.slow
@pytest.mark.parametrize("name", DIAGNOSED)
def test_a_diagnosis_ends_the_same_on_both_boards_and_names_what_is_wrong(name: str) -> None:
    part = find(name)
    emulated = same_verdict(name, shortened(plan_for(name, part.specimen)))
    assert [one.id for one in emulated.faults][:1] == ([NAMED[name]] if name in NAMED else [])


@pytest.mark.parametrize("name", QUICK)
def test_a_part_in_stock_gets_the_same_verdict_from_the_quick_protocol_on_both_boards(name: str) -> None:
    same_verdict(name, plan_for_specimen(find(name).specimen))


def test_every_part_in_stock_is_run_on_both_boards() -> None:
    assert {*stock.names()} - {*OF_OTHER_SORTS} <= {*DIAGNOSED, *QUICK}
