"""What the tests of the contract order of a board, and how they find an edge in what it captured."""

from typing import Any

from pulldrop.board.contract import Board
from pulldrop.board.request_types import Branch, Drive, Load
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, Edge

BOTH = Contact.NO | Contact.NC
FULL = 1843  # 13.5 V
MS = TICKS_PER_S // 1000
ZERO = 30
"""Counts of the +-0.256 V range at no volts: 24 are the converter's 3 at +-2.048 V (188 uV, data sheet), and noise."""


def on(dac: int = FULL, on_ms: int = 2000, **more: Any) -> Drive:
    return Drive(dac=dac, on=True, on_ms=on_ms, **more)


def off() -> Drive:
    return Drive(dac=0, on=False, on_ms=2000)


def first(capture: Capture, contact: Contact, closed: bool) -> Edge:
    return next(edge for edge in capture.edges if (edge.contact, edge.closed) == (contact, closed))


def pull_in(board: Board) -> None:
    board.hold_coil(on())
    board.wait(0.03)


def hot(throw: Contact = Contact.NO, branches: Branch = Branch.A10, limit_ms: int = 60) -> Load:
    return Load(throw, branches, limit_ms)
