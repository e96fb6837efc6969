"""Find out what the part is before anything is energised: all pairs at a few mA, then the coil at a volt or two.

Rule: the coil supply is used only when the scan has shown that the coil is where it should be and is no short.
"""

from collections.abc import Sequence

from pulldrop.measure.identify.layout import may_feed
from pulldrop.measure.identify.survey import Surveyor
from pulldrop.measure.identify.told import identified_of
from pulldrop.measure.identify.winding import WindingSeen
from pulldrop.measure.rig.coil.low_energy import respond
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.part.identification import Identification
from pulldrop.model.part.rating import Rating


def look(rig: Rig, classes: Sequence[Rating], begun: Surveyor | None = None, fed: bool = True) -> Identification:
    """What lies in the socket, without a proposal. Raises BoardError.

    `begun`: pairs that were looked at already; `fed`: also by the coil at a volt or two, where that is harmless.
    """
    began = rig.board.elapsed()
    rig.off()
    celsius = rig.read_temperature()
    pairs = (begun or Surveyor(Eyes(rig.board))).survey()
    response = respond(rig) if fed and may_feed(pairs) else None
    rig.off()
    identified = identified_of(WindingSeen(pairs, response, celsius), classes)
    return identified.model_copy(update={"bench_s": rig.board.elapsed() - began})
