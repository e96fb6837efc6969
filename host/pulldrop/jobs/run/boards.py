"""Which board stands below a job; the only place that picks one.

Rule: a simulated board is used only when it is asked for by name, never because no real one was found.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from pulldrop.board.contract import Board
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket
from pulldrop.model.bench.abilities import Build
from pulldrop.model.run.hand import Hand, Knob, Request
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.inserted import Bystander
from pulldrop.plant.specimen import Specimen
from pulldrop.plant.switch.person import Person

SIMULATED: dict[str, Build] = {
    "virtual": "full", "emulated": "full", "virtual-bare": "bare", "emulated-bare": "bare",
    "virtual-evening": "evening", "emulated-evening": "evening",
}  # fmt: skip
"""Simulated boards by name, and the build of each."""
KNOB_MOST_V = 15.0
"""Beyond the end of any knob."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A board; how another virtual part gets into its socket, and how its coil leads change places (True) and back.

    `bench`: the simulated one; `knob`: what turns its coil's volts. All are None where a person's hand does that.
    """

    board: Board
    exchange: Callable[[Specimen], None] | None = None
    leads: Callable[[bool], None] | None = None
    bench: Bench | None = None
    knob: Knob | None = None


@contextmanager
def open_board(choice: str, part: VirtualPart | None, seed: int | None) -> Iterator[Board]:
    """The board of a choice; see `open_socket`."""
    with open_socket(choice, part, seed) as opened:
        yield opened.board


@contextmanager
def open_socket(choice: str, part: VirtualPart | None, seed: int | None) -> Iterator[Opened]:
    """`choice`: auto, virtual, emulated (either with -bare or -evening behind it), or a serial port; `part` is in the
    socket of a simulated board, which is empty without one.

    Leaving it, by any way, turns everything off. Raises BoardError, and EmulatorError.
    """
    bare = SIMULATED.get(choice) == "bare"
    match choice:
        case "virtual" | "virtual-bare":
            from pulldrop.board.virtual.board import VirtualBoard

            with VirtualBoard((part or empty_socket()).specimen, seed, bare) as virtual:
                yield Opened(virtual, virtual.insert, virtual.exchange_leads, virtual.plant)
        case "emulated" | "emulated-bare":
            from pulldrop.board.serial import SerialBoard
            from pulldrop.emulator.stepped import SteppedPort

            with (
                SteppedPort((part or empty_socket()).text, seed, bare=bare) as port,
                SerialBoard(port, "the emulator", port.clock, port.sleep, port.again) as board,
            ):
                yield Opened(board, port.machine.insert, port.machine.exchange_leads, port.machine.plant)
        case "virtual-evening":
            from pulldrop.board.virtual.evening import EveningBoard

            with EveningBoard((part or empty_socket()).specimen, seed) as evening:
                yield Opened(evening, evening.insert, evening.exchange_leads, evening.plant, evening.plant)
        case "emulated-evening":
            from pulldrop.board.serial import SerialBoard
            from pulldrop.emulator.evening import EveningPort

            with (
                EveningPort((part or empty_socket()).text, seed) as port,
                SerialBoard(port, "the emulator", port.clock, port.sleep, port.again) as board,
            ):
                plant = port.machine.plant
                yield Opened(board, port.machine.insert, port.machine.exchange_leads, plant, plant)
        case "auto":
            from pulldrop.board.ports import find
            from pulldrop.board.serial import SerialBoard

            with SerialBoard.open(find()[0].port) as board:
                yield Opened(board)
        case device:
            from pulldrop.board.serial import SerialBoard

            with SerialBoard.open(device) as board:
                yield Opened(board)


def person_at(opened: Opened, seed: int) -> Person | None:
    """Whoever turns the virtual switch of a simulated bench; None where a real person does."""
    wired = opened.bench.relay.wired if opened.bench and isinstance(opened.bench.relay, Bystander) else None
    return wired.person(seed) if wired else None


def virtual_hand(leads: Callable[[bool], None], knob: Knob | None = None) -> Hand:
    """Whoever stands by at a simulated bench: moves the coil leads at once, by `Opened.leads`, and turns its knob as a
    person does."""

    def do(request: Request) -> bool:
        if request.turn is None:
            leads(request.exchanged)
        elif knob is None:
            return False
        elif request.turn in ("in", "out"):
            knob.set_knob(0.0 if request.turn == "in" else None)
        elif request.turn in ("up", "down"):
            knob.turn_knob(KNOB_MOST_V if request.turn == "up" else 0.0)
        elif request.turn == "on":
            knob.hurry_knob()
        return True

    return do
