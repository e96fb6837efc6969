"""A calibration of a virtual bench, as its own simulated instruments would make it."""

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.model.bench.calibration import Calibration
from pulldrop.plant.bench import instruments


def calibrate_virtual(
    seed: int | None, *, resistor_percent: float = instruments.COIL_PERCENT, evening: bool = False
) -> Calibration:
    """The calibration of the virtual bench that `seed` draws: use it with `VirtualBoard(any part, seed)`, or with an
    EveningBoard for one of that build."""
    with (EveningBoard if evening else VirtualBoard)(instruments.empty(), seed) as board:
        return calibrate_board(board, seed, resistor_percent=resistor_percent).calibration
