"""Contact drop at the load current: four-wire, dry makes, one short pulse a make, the median of them.

The contact is made dry and the load comes after, so that the reading is of the contact and not of an arc.
"""

from collections.abc import Iterator

from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.ranges import GAINS
from pulldrop.measure.rig.drop import Make, MakeSeries, drop_of, scaled_drops
from pulldrop.measure.rig.load import BREAK_S, LEAST_SHARE, MAKE_S, carried, pulse_of
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import not_loaded
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.raw import Contact
from pulldrop.model.reading import Finding
from pulldrop.model.steps.contacts.contact import ContactStep


def procedure(rig: PartOnRig, step: ContactStep) -> Iterator[Finding]:
    """The contact drop of every pair that the part has."""
    of = {id: MEASUREMENTS[id].pair for id in step.gives}
    wanted = [MakeSeries(id, pair) for id, pair in of.items() if pair in rig.form.pairs]
    by_coil = [series for series in wanted if series.pair in rig.form.at("operated").closed]
    at_rest = [series for series in wanted if series.pair in rig.form.at("rest").closed]
    if not rig.has_load():
        for series in wanted:
            yield not_loaded(series.id)
        return
    rig.release(BREAK_S)
    for _ in range(step.makes):
        rig.energise(step.coil, MAKE_S)
        for series in by_coil:
            _load(rig, step, series, step.coil)
        rig.release(BREAK_S)
        for series in at_rest:
            _load(rig, step, series, None)
        if rig.told_enough({one.id: scaled_drops(step.load, one.makes) for one in wanted}):
            break
    wiring.check(rig, step.coil)
    for series in wanted:
        yield drop_of(rig, step.load, series)


def _load(rig: PartOnRig, step: ContactStep, series: MakeSeries, coil_v: float | None) -> None:
    """One pulse through a throw that is closed; the range starts where the last make needed it."""
    if rig.contacts() & series.throw:
        gain = series.makes[-1].counts.gain if series.makes else GAINS[0]
        series.makes.append(_pulse(rig, step, series.throw, gain, coil_v))
    else:
        series.stayed_open += 1


def _pulse(rig: PartOnRig, step: ContactStep, throw: Contact, gain: int, coil_v: float | None) -> Make:
    """One pulse, repeated in the next wider range while the converter is full; in the widest for a dead contact."""
    pulse = pulse_of(throw, step.load, step.pulse, gain)
    counts = carried(rig, coil_v, pulse, lambda one: rig.load_a(one) < LEAST_SHARE * step.load)
    wiring.plausible(rig, throw, step.load, counts)
    return Make(wiring.drop_v(rig, counts), rig.load_a(counts), counts)
