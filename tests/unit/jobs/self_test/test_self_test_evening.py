"""The self-test of an evening build: what it can look at with an empty socket, and that it loads nothing else."""

import pytest

from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench.pins import Pins

EMPTY = specimens.empty_socket().specimen


def checks(board: EveningBoard) -> dict[str, Check]:
    return {check.title: check for check in self_test(board, nominal(0, "evening"))}


@pytest.mark.parametrize("seed", range(1, 21))
def test_every_sound_bench_is_well(seed: int) -> None:
    board = EveningBoard(EMPTY, seed)
    found = checks(board)
    assert {title: check.found for title, check in found.items() if check.state != "ok"} == {}
    assert {"coil supply", "coil supply held at 0", "look at the coil", "contact converter"} <= set(found)
    assert board.plant.made_by_relay == 0


def test_a_part_in_the_socket_is_seen_before_its_coil_gets_anything() -> None:
    board = EveningBoard(specimens.find("good-12v-changeover").specimen, 3)
    fed: list[bool] = []
    drive = board.plant.drive

    def noted(pins: Pins) -> None:
        drive(pins)
        fed.append(pins.coil and pins.lamp)

    board.plant.drive = noted  # type: ignore[method-assign]
    found = checks(board)
    assert found["coil socket"].state == "wrong" and found["coil supply"].state == "not done"
    assert not any(fed)


def test_a_main_relay_that_stays_closed_is_found() -> None:
    class Welded(type(EveningBoard(EMPTY, 3).plant)):  # type: ignore[misc]
        @property
        def coil_supply_v(self) -> float:
            return 11.8

    board = EveningBoard(EMPTY, 3)
    board.plant.__class__ = Welded
    assert checks(board)["coil supply held at 0"].state == "wrong"


def test_a_knob_at_its_left_end_is_found() -> None:
    board = EveningBoard(EMPTY, 3)
    board.plant.set_knob(0.0)
    found = checks(board)["coil supply"]
    assert found.state == "wrong" and "S4 at 'supply'" in found.expected
