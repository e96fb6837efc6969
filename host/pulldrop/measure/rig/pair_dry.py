"""A part at 30 and 87 at a few mA: its ohms, or that nothing flows."""

from pulldrop.board.request_types import Branch
from pulldrop.measure.rig.first_make import DRY_V, WIDEST_V, dry_ohm, pulse
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.paths import OPEN_OHM, resting
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.measure.rig.rig import PartStops
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.raw import Contact, Line
from pulldrop.model.reading import Reading

ID = "pair_dry"


def dry(rig: PartOnRig) -> Reading:
    """The reading of it; of an open part a bound."""
    if rig.bare:
        path = resting(Eyes(rig.board), Line.T87)
        shown = rig.conditions(method="bare board: its pins, two wires")
        if path.ohm is None:
            return bounded(ID, ">", path.least_ohm, shown, raw=path.counts)
        return reading(ID, path.ohm, shown, raw=path.counts)
    shown = rig.conditions(load="5 mA", method="four-wire")
    counts = pulse(rig, Contact.NO, Branch.NONE, None)
    ohm = dry_ohm(rig, counts)
    if ohm is None:
        least = WIDEST_V / (DRY_V - WIDEST_V) * rig.able.dry_ohm * (1 - rig.able.reference_share)
        return bounded(ID, ">", least, shown, raw=[counts])
    return reading(ID, ohm - rig.scales.clips[Contact.NO], shown, raw=[counts])


def must_conduct(found: Reading) -> float:
    """Ohms of a part that is not open. Raises PartStops."""
    if found.bound != "=" or found.number > OPEN_OHM:
        raise PartStops("nothing flows through it at a few mA: it is open")
    return found.number
