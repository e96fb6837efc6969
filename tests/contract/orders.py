"""What the tests of the contract order of a board, and how they find an edge in what it captured."""

from typing import Any

import pytest

from pulldrop.board.contract import Board
from pulldrop.board.request_types import DAC_MAX, Branch, Drive, Load
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, Edge

SETS_VOLTS, LOADS_1_A = pytest.mark.needs("sets volts"), pytest.mark.needs("loads 1 A")
"""Abilities that a test needs of its board, as `opened.able_to` names them."""
BOTH = Contact.NO | Contact.NC
FULL = 1843
"""13.5 V, where the program sets them."""
MS = TICKS_PER_S // 1000
ZERO = 30
"""Counts of the +-0.256 V range at no volts: 24 are the converter's 3 at +-2.048 V (188 uV, data sheet), and noise."""


def fed(board: Board) -> int:
    """The code at which this board feeds a coil of 12 V."""
    return FULL if board.identity.able.coil == "set" else DAC_MAX


def fed_v(board: Board) -> float:
    """What the coil gets then, but for what the bench is off by."""
    return 13.5 if board.identity.able.coil == "set" else 12.05


def battery_v(board: Board) -> float:
    """What the load supply reads at this seed, by the volts that the board takes its own 5 V for."""
    return 12.0 if board.identity.able.coil == "set" else 12.9


def light(board: Board) -> Branch:
    """Its smallest load."""
    return Branch.A1 if 1.0 in board.identity.able.loads_a else Branch.A10


def medium(board: Board) -> tuple[Branch, float]:
    """5 A where it has them, else its only load; with its amps."""
    return (Branch.A5, 4.75) if 5.0 in board.identity.able.loads_a else (Branch.A10, 9.5)


def on(board: Board, dac: int | None = None, on_ms: int = 2000, **more: Any) -> Drive:
    return Drive(dac=fed(board) if dac is None else dac, on=True, on_ms=on_ms, **more)


def off() -> Drive:
    return Drive(dac=0, on=False, on_ms=2000)


def first(capture: Capture, contact: Contact, closed: bool) -> Edge:
    return next(edge for edge in capture.edges if (edge.contact, edge.closed) == (contact, closed))


def pull_in(board: Board) -> None:
    board.hold_coil(on(board))
    board.wait(0.05)


def hot(throw: Contact = Contact.NO, branches: Branch = Branch.A10, limit_ms: int = 60) -> Load:
    return Load(throw, branches, limit_ms)
