"""The boards that keep the contract, each with the same part in its socket and the same chance on its bench."""

from collections.abc import Callable
from contextlib import ExitStack

from pulldrop.board.contract import Board
from pulldrop.board.serial import SerialBoard
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.emulator.evening import EveningPort
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.model.bench.abilities import OF_BUILD
from pulldrop.plant.specimen import Specimen

TITLE = "a sound 12 V changeover relay, invented for the contract suite"
SEED = 7
BARE, EVENING = "-bare", "-evening"
KINDS = ("virtual", "emulated", "virtual-evening", "emulated-evening")
"""Those that feed a coil."""

Stop = Callable[[bool], None]


def able_to(kind: str) -> set[str]:
    """What tests may need of a board of this kind."""
    able = OF_BUILD["evening" if kind.endswith(EVENING) else "full"]
    has = {"sets volts": able.coil == "set", "loads 1 A": 1.0 in able.loads_a}
    return {name for name, there in has.items() if there}


def opened(kind: str, stack: ExitStack) -> tuple[Board, Stop]:
    """A fresh board and its emergency stop; the stack closes both."""
    if kind.endswith(EVENING):
        return _evening(kind, stack)
    bare = kind.endswith(BARE)
    if kind.removesuffix(BARE) == "virtual":
        virtual = stack.enter_context(VirtualBoard(Specimen(title=TITLE), SEED, bare))
        return virtual, virtual.open_stop
    port = stack.enter_context(SteppedPort(f"title: {TITLE}\n", SEED, bare=bare))
    board = SerialBoard(port, "the emulator", port.clock, port.sleep, port.again)
    return stack.enter_context(board), port.machine.open_stop


def _evening(kind: str, stack: ExitStack) -> tuple[Board, Stop]:
    if kind == "virtual-evening":
        virtual = stack.enter_context(EveningBoard(Specimen(title=TITLE), SEED))
        return virtual, virtual.open_stop
    port = stack.enter_context(EveningPort(f"title: {TITLE}\n", SEED))
    board = SerialBoard(port, "the emulator", port.clock, port.sleep, port.again)
    return stack.enter_context(board), port.machine.open_stop
