"""Coil and resting contacts at a few mA: no coil supply and no load is needed, and nothing can be harmed.

Rule: a pair is looked at in both polarities where the build can; one that conducts one way round only is reported so.
On a full build terminal 30 is ground, and 86 is loaded by the coil supply; the budgets and the bounds say what is left.
"""

from collections.abc import Iterator

from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.counts.copper import at_20c
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.paths import CLOSED_OHM, ONE_WAY, OPEN_OHM, Path, coil_paths, resting
from pulldrop.measure.rig.readings import bounded, not_tested, reading, state
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.part.relay import NC
from pulldrop.model.raw import Contact, Line
from pulldrop.model.reading import Finding, NotTested
from pulldrop.model.steps.looks.scan import ScanStep


def procedure(rig: PartOnRig, step: ScanStep) -> Iterator[Finding]:
    """contact_rest, coil_resistance, coil_resistance_20c and, of a part with 87a, contact_dry_nc."""
    eyes = Eyes(rig.board)
    no, nc = resting(eyes, Line.T87), resting(eyes, Line.T87A)
    closed = Contact.NO * _closed(no) | Contact.NC * _closed(nc)
    rig.rest = Contact(closed)
    way = rig.conditions(method="terminal scan", current="a few mA, without load")
    yield state("contact_rest", rig.state(rig.rest), way)
    yield from _coil(rig, eyes)
    if NC in rig.form.pairs:
        yield _dry(rig, nc)


def _coil(rig: PartOnRig, eyes: Eyes) -> Iterator[Finding]:
    there, back = coil_paths(eyes)
    raw = (*there.counts, *back.counts)
    known = [one for one in (there, back) if one.ohm is not None]
    if not known or min(nominal_value(one.ohm) for one in known) > OPEN_OHM:
        least = min(there.least_ohm, back.least_ohm)
        shown = rig.conditions(method="terminal scan, both polarities")
        yield bounded("coil_resistance", ">", least, shown, raw=raw)
        yield bounded("coil_resistance_20c", ">", least, shown)
        return
    chosen, note = _chosen(there, back)
    shown = rig.conditions(method="terminal scan, both polarities", current=f"{1e3 * chosen.amps:.1f} mA", diode=note)
    yield reading("coil_resistance", chosen.ohm, shown, raw=raw)
    try:
        yield reading("coil_resistance_20c", at_20c(chosen.ohm, rig.temperature()), shown)
    except CannotTest as why:
        yield not_tested("coil_resistance_20c", why)


def _chosen(there: Path, back: Path) -> tuple[Path, str]:
    """The polarity in which nothing is across the coil, and in words what the other one shows."""
    if there.ohm is None or back.ohm is None:
        one = there if there.ohm is not None else back
        return one, f"conducts from {'86 to 85' if one is there else '85 to 86'} only: a diode in series with the coil"
    apart = there.ohm - back.ohm
    least = ONE_WAY * nominal_value(max(there, back, key=lambda one: nominal_value(one.ohm)).ohm)
    if abs(nominal_value(apart)) <= max(least, 2 * apart.std_dev):
        one = max(there, back, key=lambda one: one.amps)
        volts = one.amps * nominal_value(one.ohm)
        return one, f"none seen at {volts:.2f} V" + ("" if volts > 0.6 else ", which is too little to see one")
    if nominal_value(apart) > 0:
        return there, "one across the coil, from 85 to 86"
    return back, "one across the coil, from 86 to 85: the wrong way round"


def _closed(throw: Path) -> bool:
    return throw.ohm is not None and nominal_value(throw.ohm) < CLOSED_OHM


def _dry(rig: PartOnRig, nc: Path) -> Finding:
    if not _closed(nc):
        return NotTested(id="contact_dry_nc", reason="the throw is open at rest")
    shown = rig.conditions(
        method="terminal scan",
        current=f"{1e3 * nc.amps:.1f} mA",
        note="a film reads high here and may break under load",
    )
    most = max(nominal_value(nc.ohm), 0.0) + 2 * nc.ohm.std_dev
    if nominal_value(nc.ohm) < 2 * nc.ohm.std_dev:
        return bounded("contact_dry_nc", "<", most, shown, raw=nc.counts)
    return reading("contact_dry_nc", nc.ohm, shown, raw=nc.counts)
