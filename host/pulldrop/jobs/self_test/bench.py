"""The bench tests itself with an empty socket."""

from collections.abc import Iterator

from pulldrop.board.contract import Board
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.self_test import empty
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.raw import Frozen


class SelfTest(Frozen):
    """The answer of `board self-test --json`."""

    board: Identity
    simulated: bool
    ok: bool
    checks: tuple[Check, ...]


def self_test(board: Board, calibration: Calibration) -> Iterator[Check]:
    """Yield each check as soon as it is made; everything is off at the end."""
    return empty.self_test(Rig(board, calibration))
