"""Does the contact let go after its load: each make carries a pulse, and the coil is switched off right after it.

A contact that tacks clicks and measures like a good one, and stays closed after a load. The make is dry and the pulse
comes after it; a hot make shows what closes on its load (hot.py).
"""

from collections.abc import Iterator

from pulldrop.measure.rig.counts import latency
from pulldrop.measure.rig.counts.budget import median_of
from pulldrop.measure.rig.counts.ranges import GAINS
from pulldrop.measure.rig.load import carried, close_no, pulse_of
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import CLAMPS, bounded, not_loaded, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact
from pulldrop.model.reading import Finding
from pulldrop.model.steps.contacts.sticking import StickingStep

WINDOW_MS, DIVIDER = 30, 2
"""A sample every 100 us, though only the edges are read."""
REST_S = 0.05
"""Off before the next make."""


def procedure(rig: PartOnRig, step: StickingStep) -> Iterator[Finding]:
    """release_after_load."""
    if not rig.has_load():
        yield not_loaded("release_after_load")
        return
    rig.must_rest(rig.release(REST_S))
    breaks: list[Capture] = []
    stuck = False
    while len(breaks) < step.makes and not stuck:
        breaks.append(_loaded_break(rig, step))
        stuck = bool(rig.release(REST_S) & Contact.NO)
    shown = rig.conditions(load=f"{step.load:g} A before", makes=str(len(breaks)), clamp=CLAMPS["tvs"])
    opened = [t for c in breaks if (t := latency.opened(c)) is not None]
    if not stuck and any(latency.unclear(c) for c in breaks):
        raise CannotTest(latency.UNCLEAR)
    if stuck or len(opened) < len(breaks):
        yield bounded("release_after_load", ">", WINDOW_MS / 1000, shown, raw=breaks)
        return
    value = rig.scales.tick.span(
        median_of(opened, "makes") + latency.room(None, latency.End(Contact.NO, closes=False, loaded=True))
    )
    yield reading("release_after_load", value, shown, raw=breaks, makes=[t / TICKS_PER_S for t in opened])


def _loaded_break(rig: PartOnRig, step: StickingStep) -> Capture:
    close_no(rig, step.coil)
    carried(rig, step.coil, pulse_of(Contact.NO, step.load, step.pulse, GAINS[-1]))
    return rig.board.step_coil(rig.drive(step.coil, on=False), WINDOW_MS, DIVIDER)
