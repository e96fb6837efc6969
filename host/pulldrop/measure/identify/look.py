"""Find out what the part is before anything is energised: all pairs at a few mA, then the coil at a volt or two.

Rule: the coil supply is used only when the scan has shown that the coil is where it should be and is no short.
"""

from collections.abc import Sequence

from pulldrop.board.contract import Analog, Board
from pulldrop.measure.identify.layout import may_feed
from pulldrop.measure.identify.survey import Surveyor
from pulldrop.measure.identify.told import nature_of
from pulldrop.measure.identify.winding import Seen
from pulldrop.measure.rig import temperature
from pulldrop.measure.rig.low_energy import respond
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.part.identification import Nature
from pulldrop.model.part.rating import Rating


def look(
    board: Board, calibration: Calibration, classes: Sequence[Rating], begun: Surveyor | None = None, fed: bool = True
) -> Nature:
    """What lies in the socket, without a proposal. Raises BoardError.

    `begun`: pairs that were looked at already; `fed`: also by the coil at a volt or two, where that is harmless.
    """
    began = board.elapsed()
    board.off()
    celsius = temperature.from_sum(board.sense_analog(Analog.BENCH_TEMPERATURE), calibration.temperature_offset_k)
    pairs = (begun or Surveyor(Eyes(board))).survey()
    response = respond(board, calibration) if fed and may_feed(pairs) else None
    board.off()
    nature = nature_of(Seen(pairs, response, celsius), classes)
    return nature.model_copy(update={"bench_s": board.elapsed() - began})
