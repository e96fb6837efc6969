"""The bench tests itself: with an empty socket, and with a person's hands, a shorting link and the emergency stop."""

from collections.abc import Iterator

from pulldrop.board.contract import Board
from pulldrop.jobs.self_test.talk import Do, Question, Talk
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.self_test import empty
from pulldrop.measure.self_test.check import Check
from pulldrop.measure.self_test.link import SOCKET, coil_rail, linked, pressed, pulse_limit, released
from pulldrop.measure.self_test.stages import LAST
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.raw import Contact, Frozen

SEATS = (("link", Contact.NO), ("link_nc", Contact.NC))
"""What a hand is asked to put in, and the throw that it closes."""


class SelfTest(Frozen):
    """The answer of `board self-test --json`."""

    board: Identity
    simulated: bool
    ok: bool
    checks: tuple[Check, ...]


def self_test(board: Board, calibration: Calibration, stage: int = LAST) -> Iterator[Check]:
    """Yield each check as soon as it is made; everything is off at the end. `stage`: see `measure.self_test.stages`."""
    return empty.self_test(Rig(board, calibration), stage)


def with_hands(board: Board, calibration: Calibration) -> Talk[tuple[Check, ...]]:
    """The whole as a dialogue: the link in either throw, then the emergency stop. Everything is off at the end."""
    rig, checks = Rig(board, calibration), list[Check]()
    for seat, throw in SEATS:
        where = SOCKET[throw][0].replace("-", " and ")
        yield Do(seat, f"Put the shorting link into the socket between {where}, and take your hands off: it is loaded.")
        checks += linked(rig, throw)
        if all(check.state == "ok" for check in checks):
            checks.append(pulse_limit(rig, throw)[0])
    yield Do("empty", "Take the link out.")
    checks += yield from stopped(rig)
    return tuple(checks)


def stopped(rig: Rig) -> Talk[tuple[Check, ...]]:
    """What the emergency stop ends, by a hand at it."""
    yield Do("stop", "Press the emergency stop and leave it pressed.")
    checks = list(pressed(rig))
    where = "the metal tab of Q1 (it may be hot)" if rig.able.coil == "set" else "terminal 86, S4 at supply,"
    volts = yield Question("coil_rail", f"Multimeter: volts from {where} to ground, or Enter to skip", "V")
    checks.append(coil_rail(rig, volts))
    yield Do("unstop", "Release the emergency stop.")
    return (*checks, released(rig))
