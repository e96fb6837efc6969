"""The self-test of a full bench in each stage of the guide: which stage stands, what it lacks, what comes next."""

import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest
from broken_bench.boards import BrokenBoard
from broken_bench.effect import Effect
from broken_bench.stages import built

from pulldrop.board.contract import Status
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.measure.self_test.check import Check
from pulldrop.measure.self_test.stages import STAGES, TITLE, at
from pulldrop.model.bench.calibration import nominal

GUIDE = Path(__file__).parents[4] / "hardware" / "guide.md"


class Bench(BrokenBoard):
    """A virtual board after a stage."""

    def __init__(self, stage: int) -> None:
        super().__init__(specimens.empty_socket().specimen, 1)
        self.break_wires(built(stage))

    def status(self) -> Status:
        return replace(super().status(), bus_silent="bus" in self.plant.wires.deaf)


def last(checks: Iterable[Check]) -> Check:
    """The line about the stage; no other is wrong."""
    *made, stage = checks
    assert {one.title: one.found for one in made if one.state not in ("ok", "noted")} == {}
    assert stage.title == TITLE
    return stage


@pytest.mark.parametrize("stage", range(1, 7))
def test_a_board_in_each_stage_is_well_and_says_what_comes_next(stage: int) -> None:
    said = last(self_test(Bench(stage), nominal(1), stage))
    assert said.state == "ok" and f"stage {min(stage, 5)} (" in said.found
    assert f"Next, stage {stage + 1} (" in said.found if stage < 5 else "vehicle" in said.found


@pytest.mark.parametrize("stage", range(2, 7))
def test_a_stage_whose_parts_do_not_answer_does_not_stand(stage: int) -> None:
    *made, said = self_test(Bench(stage - 1), nominal(1), stage)
    if stage == 6:
        assert said.found.endswith("12.0 V on each of its inputs gives 1.33 V at m1 to m4")
        return
    assert said.state == "noted" and f"stage {stage - 1} (" in said.found and f"stage {stage} (" in said.found
    assert any(one.state == "wrong" for one in made) is (stage < 5), "a battery that is not connected is no fault"


def test_a_finished_bench_whose_scan_fell_silent_is_wrong_and_said_to_stand_at_the_stage_before() -> None:
    bench = Bench(5)
    bench.break_wires(Effect(deaf=frozenset({"ports"})))
    *made, said = self_test(bench, nominal(1))
    assert {one.title for one in made if one.state == "wrong"} == {"scan lines"}
    assert "stage 2 (contact) stands, stage 3 (scan) does not: terminals" in said.found


def test_an_evening_board_stands_and_is_led_on() -> None:
    with EveningBoard(specimens.empty_socket().specimen, 1) as board:
        said = last(self_test(board, nominal(1, "evening")))
    assert said.state == "ok" and "stages 3 and 4" in said.found


def test_the_stages_are_those_of_the_guide() -> None:
    rows = re.findall(r"^\| (\d) ([a-z ]+) \|", GUIDE.read_text(), re.MULTILINE)
    assert rows == [(str(number), one.name) for number, one in enumerate(STAGES, 1)]


def test_each_line_of_a_finished_bench_is_of_a_stage() -> None:
    made = {one.title for one in self_test(Bench(5), nominal(1))}
    assert {at(title) for title in made} == {1, 2, 3, 4, 5}
