"""The boards that keep the contract, each with the same part in its socket and the same chance on its bench."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest

from pulldrop.board.contract import Board, Trip
from pulldrop.board.serial import SerialBoard
from pulldrop.board.virtual import VirtualBoard
from pulldrop.emulator.process import Emulator
from pulldrop.plant.specimen import Specimen

TITLE = "a sound 12 V changeover relay, invented for the contract suite"
SEED = 7
KINDS = ("virtual", "emulated")
BARE = "-bare"

Stop = Callable[[bool], None]


def opened(kind: str, stack: ExitStack) -> tuple[Board, Stop]:
    """A fresh board and its emergency stop; the stack closes both."""
    bare = kind.endswith(BARE)
    if kind.removesuffix(BARE) == "virtual":
        virtual = stack.enter_context(VirtualBoard(Specimen(title=TITLE), SEED, bare))
        return virtual, virtual.open_stop
    emulator = stack.enter_context(Emulator(f"title: {TITLE}\n", SEED, bare=bare))
    return stack.enter_context(SerialBoard.open(emulator.port)), emulator.open_stop


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
