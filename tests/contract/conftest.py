"""Fixtures of the contract suite: one board of each kind, everything off at the start of each test."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from opened import KINDS, Stop, opened

from pulldrop.board.contract import Board, Trip


@pytest.fixture(scope="module", params=KINDS)
def bench(request: pytest.FixtureRequest) -> Iterator[tuple[Board, Stop]]:
    """One board for all tests of a module."""
    with ExitStack() as stack:
        yield opened(request.param, stack)


@pytest.fixture
def board(bench: tuple[Board, Stop]) -> Board:
    """That board with everything off, the part at rest and no trip latched."""
    board, stop = bench
    stop(False)
    board.off()
    if board.status().trip is not Trip.NONE:
        board.acknowledge()
    board.wait(0.03)
    return board


@pytest.fixture
def stop(bench: tuple[Board, Stop]) -> Stop:
    """Its emergency stop: True opens it."""
    return bench[1]


@pytest.fixture
def open_board() -> Iterator[Callable[[str], Board]]:
    """Opens fresh boards by their kind."""
    with ExitStack() as stack:
        yield lambda kind: opened(kind, stack)[0]
