"""The compiled firmware in each stage of the guide, from its first start: the self-test says which one stands."""

from typing import Any

import pytest
from broken_bench.bench import BrokenBench
from broken_bench.boards import BUS, BrokenMachine
from broken_bench.stages import built

from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.model.bench.calibration import nominal


def port_of(stage: int) -> SteppedPort:
    """An emulated board that never had more parts than that stage has."""

    class After(BrokenMachine):
        def _fit_parts(self) -> None:
            super()._fit_parts()
            for index, (address, part) in enumerate(BUS.items()):
                self.chip.set_part(index, address, part not in built(stage).deaf, pairs=part == "dac")

    class Bench(BrokenBench):
        def __init__(self, *arguments: Any) -> None:
            super().__init__(*arguments)
            self.break_wires(built(stage))

    class Port(SteppedPort):
        BENCH, MACHINE = Bench, After

    return Port(specimens.empty_socket().text, 7)


@pytest.mark.parametrize("stage", range(1, 6))
def test_an_emulated_board_in_each_stage_is_well_and_says_what_comes_next(stage: int) -> None:
    with port_of(stage) as port, SerialBoard(port, "the emulator", port.clock, port.sleep) as board:
        checks = {one.title: one for one in self_test(board, nominal(0), stage)}
    assert {title: one.found for title, one in checks.items() if one.state not in ("ok", "noted")} == {}
    assert checks["stage"].state == "ok" and f"Next, stage {stage + 1} (" in checks["stage"].found
