"""Fixtures of the contract suite: one board of each kind, everything off at the start of each test."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from opened import KINDS, Stop, able_to, opened

from pulldrop.board.contract import Board, Trip


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "needs(ability): asked of boards that have it alone")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Each test on every kind of board that can do what it needs."""
    if "bench_and_stop" in metafunc.fixturenames:
        needs = {mark.args[0] for mark in metafunc.definition.iter_markers("needs")}
        kinds = [kind for kind in KINDS if needs <= able_to(kind)]
        metafunc.parametrize("bench_and_stop", kinds, indirect=True, scope="module")


@pytest.fixture(scope="module")
def bench_and_stop(request: pytest.FixtureRequest) -> Iterator[tuple[Board, Stop]]:
    """One board for all tests of a module."""
    with ExitStack() as stack:
        yield opened(request.param, stack)


@pytest.fixture
def board(bench_and_stop: tuple[Board, Stop]) -> Board:
    """That board with everything off, the part at rest and no trip latched."""
    board, stop = bench_and_stop
    stop(False)
    board.off()
    if board.status().trip is not Trip.NONE:
        board.acknowledge()
    board.wait(0.03)
    return board


@pytest.fixture
def stop(bench_and_stop: tuple[Board, Stop]) -> Stop:
    """Its emergency stop: True opens it."""
    return bench_and_stop[1]


@pytest.fixture
def open_board() -> Iterator[Callable[[str], Board]]:
    """Opens fresh boards by their kind."""
    with ExitStack() as stack:
        yield lambda kind: opened(kind, stack)[0]
