"""What every board answers when a load is watched that must not flow, or must be cut; test_contract.py's part."""

from collections.abc import Callable

import pytest
from orders import LOADS_1_A, light

from pulldrop.board.contract import Board
from pulldrop.board.errors import Refused, Tripped
from pulldrop.board.request_types import Branch, Watch
from pulldrop.model.raw import Contact
from pulldrop.plant.bench.feeds import LIMIT_S

AMPS = 0.256 / 32768 / 0.005
"""Per count of the load shunt."""


@LOADS_1_A
def test_a_throw_without_a_branch_and_a_branch_without_a_throw_carry_nothing(board: Board) -> None:
    for throws, branches in ((Contact.NC, Branch.NONE), (Contact.NONE, Branch.A1), (Contact.NONE, Branch.A10)):
        watched = board.watch_load(Watch(throws, branches, 40))
        assert abs(watched.first) * AMPS < 0.05
    assert not board.status().on


@LOADS_1_A
def test_one_ampere_is_cut_by_the_hardware_and_counts_as_load(board: Board) -> None:
    board.wait(10.3)
    long = board.watch_load(Watch(Contact.NC, Branch.A1, 950))
    assert 0.85 < long.first * AMPS < 1.1 and abs(long.last) * AMPS < 0.05
    assert long.cut_ms == pytest.approx(1000 * LIMIT_S, abs=20)
    assert not board.status().on
    with pytest.raises(Refused) as refused:
        board.watch_load(Watch(Contact.NC, Branch.A1, 450))
    assert refused.value.reason == "duty"


@LOADS_1_A
def test_throws_alone_count_as_load(board: Board) -> None:
    board.wait(10.3)
    with pytest.raises(Refused) as refused:
        for _ in range(60):
            board.watch_load(Watch(Contact.NC, Branch.NONE, 100))
    assert refused.value.reason == "duty"


REFUSED = {
    "nothing": Watch(Contact.NONE, Branch.NONE, 100),
    "10 A with a throw": Watch(Contact.NO, Branch.A10, 100),
    "two branches with a throw": Watch(Contact.NO, Branch.A1 | Branch.A5, 100),
    "a branch alone for long": Watch(Contact.NONE, Branch.A10, 101),
    "throws alone for long": Watch(Contact.NO | Contact.NC, Branch.NONE, 101),
    "longer than a second": Watch(Contact.NO, Branch.A1, 951),
    "no time": Watch(Contact.NO, Branch.A1, 29),
}


@LOADS_1_A
@pytest.mark.parametrize("name", REFUSED)
def test_only_a_light_load_is_watched_together_with_a_throw(board: Board, name: str) -> None:
    with pytest.raises(Refused) as refused:
        board.watch_load(REFUSED[name])
    assert refused.value.reason == "argument"
    assert not board.status().on


def test_the_emergency_stop_ends_it(board: Board, stop: Callable[[bool], None]) -> None:
    board.wait(10.3)
    stop(True)
    with pytest.raises(Tripped):
        board.watch_load(Watch(Contact.NC, light(board), 200))
    assert not board.status().on
