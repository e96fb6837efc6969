"""The first time that a run gives the coil its full volts, recorded like a make of the timing; and the first loads.

A part that sticks or insulates after years of rest often does so once: whatever moves or loads it before this destroys
the evidence. NC is loaded before the coil is energised, NO as soon as its first make is over. These readings are of
this one make, so that they have no scatter.

Rule: a first load is read in the widest range, once: a pulse that is repeated in another range is no first load. While
the board wants rest before it, the make holds: another one is not the first.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from pulldrop.board.request_types import Branch, Pulse
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts import edges, latency
from pulldrop.measure.rig.counts.budget import LEADS_OHM, nominal_value, rectangular, uncertain
from pulldrop.measure.rig.counts.dip import moved
from pulldrop.measure.rig.counts.edges import Span
from pulldrop.measure.rig.counts.ranges import FINEST, GAINS, drop_v, load_a
from pulldrop.measure.rig.drop import Make, MakeSeries, drop_of
from pulldrop.measure.rig.load import MAKE_S, REST_S, SETTLE_MS, branches_for, carried, rested
from pulldrop.measure.rig.part import OPEN_COIL_A, PartOnRig
from pulldrop.measure.rig.readings import bounded, ends_at, not_loaded, reading
from pulldrop.measure.rig.rig import CoilPoint
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.relay import SEEN_BY
from pulldrop.model.raw import Capture, Contact, PulseCounts
from pulldrop.model.reading import MOVED, RESTED, Condition, ConditionName, Finding, NotTested, Reading, amount, coded
from pulldrop.model.steps.coil.coil import FIRST_LOADS, CoilStep

WINDOW_MS, DIVIDER = 30, 2
"""Of the recorded make: a sample of the coil's current every 100 us."""
SUPPLY_S, ON_MS = 0.02, 2060
"""Until the coil supply gives what it was set to; for how long the coil may stay on, so that it can become steady."""
LATER = {
    "first_operate_time": "operate_time", "first_drop_no": "contact_drop_no", "first_drop_nc": "contact_drop_nc",
}  # fmt: skip
"""Which reading of later makes says the same."""
FOLLOWS_V, FOLLOWS_ROOM, FOLLOWS_OHM = 1.27, 0.3, 0.5
"""By which share of a change of volts an operate time changes at nominal, how far from that it may be (30 virtual parts
of four classes: 1.05 to 1.48), and by which share of a change of ohms (see timing.py)."""
SAMPLES, LIMIT_MS = 3, 70
"""Pairs of conversions of each pulse, and when the board ends it by itself."""
STEADY_S = 0.3
"""Until the current of a coil that was switched on is steady; at 2 W it warms by a tenth of a kelvin meanwhile."""
DRY_OHM, DRY_V = 1025.0, 5.0
"""The dry source: 5 V through 1 kohm and 25 ohm of the pin that feeds it (ATmega328P data sheet)."""
DRY_SHARE = 0.05
"""How well its current is known, either way: supply 4 %, resistor 1 %."""
EMF_V = 10e-6
"""Thermal voltage between two metals and a few kelvin, either way (assumed)."""
WIDEST_V = 4.0
"""Above this a contact reads as open in the widest range."""
NO_CURRENT_A = 0.05
"""Less than this from a branch, and the contact carries nothing."""


@dataclass(frozen=True, slots=True)
class FirstLoad:
    """Counts under load, and at 5 mA before and after it where they were taken."""

    loaded: PulseCounts
    dry: PulseCounts | None = None
    after: PulseCounts | None = None


def first_make(rig: PartOnRig, step: CoilStep, at: float) -> Iterator[Finding]:
    """first_operate_time and first_drop_*, the coil `at` volts from then on; nothing of an open one. Only a coil
    without a short may get it.
    """
    has_load = False
    if step.load is not None:
        rig.release(0.0)
        has_load = rig.has_load()
    _set(rig, at)
    wanted = [MakeSeries(id, pair) for id in step.asked if id in FIRST_LOADS and (pair := MEASUREMENTS[id].pair)]
    wanted = [one for one in wanted if one.pair in rig.form.pairs]
    for one in wanted:
        if has_load and one.throw is Contact.NC:
            _load(rig, step, one, None)
    drive = rig.drive(at, on_ms=ON_MS)
    capture = rig.board.step_coil(drive, WINDOW_MS, DIVIDER)
    rig.wait(MAKE_S - WINDOW_MS / 1000)
    for one in wanted:
        if has_load and one.throw is Contact.NO:
            _load(rig, step, one, at)
    point = rig.sense()
    if point.a < OPEN_COIL_A:
        return
    yield _kept(rig, _operated(rig, capture, point, at))
    for one in wanted:
        if not has_load:
            yield not_loaded(one.id)
        elif one.stayed_open:
            yield NotTested(id=one.id, reason="it was open when its first load was due")
        else:
            yield _kept(rig, drop_of(rig, step.load or 0.0, one))


def _set(rig: PartOnRig, at: float) -> None:
    """The coil off, and its supply set to these volts, which it is not known to give before it was read once."""
    drive = rig.drive(at, on=False)
    rig.hold(drive, SUPPLY_S)
    counts = rig.board.sense_coil()
    rig.must_be_supplied()
    rig.learn_supply(rig.supply_v(counts.bus), drive.dac)


def _kept(rig: PartOnRig, found: Finding) -> Finding:
    """The finding, which readings of later makes show beside their own."""
    if isinstance(found, Reading):
        text = f"{'more than ' if found.bound == '>' else ''}{1000 * found.number:.2f} m{found.unit}"
        rig.first_make[LATER[found.id]] = Condition(name="first make", text=text)
    return found


def _load(rig: PartOnRig, step: CoilStep, one: MakeSeries, coil_v: float | None) -> None:
    """The first load of a throw, kept for a step that reads films."""
    if not rig.contacts() & one.throw:
        one.stayed_open += 1
        return
    assert step.load is not None
    film = any(other.measure == "film" for other in rig.plan.steps)
    first = take(rig, one.throw, step.load, coil_v, film)
    rig.first_loads[one.throw] = first
    one.makes.append(Make(wiring.drop_v(rig, first.loaded), rig.load_a(first.loaded), first.loaded))


def _operated(rig: PartOnRig, capture: Capture, point: CoilPoint, at: float) -> Finding:
    """How long it took, or that it was not over within the window."""
    operates = rig.form.operates
    shown = rig.conditions(coil_voltage=amount(at, "V"), makes="the first")
    shown += (ends_at(operates).model_copy(update={"name": ConditionName.ENDS_AT}),)
    end = latency.End(SEEN_BY[operates.pair], operates.closes, rig.has_load())
    tick = edges.change(capture, end.throw, end.closes)
    if tick is None:
        shown += (_armature(capture),)
        return bounded("first_operate_time", ">", WINDOW_MS / 1000, shown, raw=[capture])
    made = latency.made(Span(0, tick), None, end)
    off = point.v / at - 1
    one = 1 + FOLLOWS_V * (point.volts / point.v - 1 + off)
    one += rectangular(FOLLOWS_ROOM * abs(off), "coil volts setting", "volts off those asked for")
    one -= FOLLOWS_OHM * rig.winding_share()
    value = rig.scales.tick.span((made.ticks + latency.waiting([made]) + latency.room(None, end)) * one)
    return reading("first_operate_time", value, shown, raw=[capture], makes=[nominal_value(value)])


def _armature(capture: Capture) -> Condition:
    """What the coil's current says of it."""
    code, text = RESTED, "no dip of the coil current: it did not move"
    if times := moved(capture):
        code = MOVED
        text = f"it struck after {1000 * times.seat_s:.1f} ms by the dip of the coil current, so a contact insulates"
    return coded(code, text).model_copy(update={"name": ConditionName.ARMATURE})


# --- a first load ---


def take(rig: PartOnRig, throw: Contact, amps: float, coil_v: float | None, dry: bool) -> FirstLoad:
    """The first load of a closed throw; `coil_v`: see `load.carried`; `dry`: at 5 mA before and after it too."""
    before = pulse(rig, throw, Branch.NONE, coil_v) if dry else None
    load = Pulse(throw, branches_for(amps), SETTLE_MS, SAMPLES, LIMIT_MS, gain=GAINS[-1])
    loaded = rested(rig, lambda: rig.board.load_pulse(load), rest=lambda: _rest(rig, coil_v))
    wiring.plausible(rig, throw, amps, loaded)
    return FirstLoad(loaded, before, pulse(rig, throw, Branch.NONE, coil_v) if dry else None)


def _rest(rig: PartOnRig, coil_v: float | None) -> None:
    """Let the load resistors rest, the coil as it is. By how much that warms it, its ohms before that will tell."""
    if coil_v is None:
        rig.release(REST_S)
        return
    rig.energise(coil_v, STEADY_S)
    if rig.cold_ohm is None:
        point = rig.sense()
        rig.cold_ohm = nominal_value(point.volts / point.amps) - LEADS_OHM / 2
    rig.wait(REST_S - STEADY_S)


def pulse(rig: PartOnRig, throw: Contact, branches: Branch, coil_v: float | None, gain: int = FINEST) -> PulseCounts:
    """One short pulse through a closed throw, in the first range from `gain` on that holds it."""
    return carried(rig, coil_v, Pulse(throw, branches, SETTLE_MS, SAMPLES, LIMIT_MS, gain=gain))


def dry_ohm(rig: PartOnRig, counts: PulseCounts) -> Any:
    """Ohms at 5 mA with budget; None when the widest range is full."""
    volts = _drop_v(rig, counts)
    if nominal_value(volts) > WIDEST_V:
        return None
    able = rig.able
    amps = (able.reference_v - nominal_value(volts)) / able.dry_ohm
    share = able.reference_share + DRY_SHARE - 0.04
    source = uncertain(
        1.0, share / math.sqrt(3), "dry source", f"5 V within {able.reference_share:.0%}, its resistor within 1 %"
    )
    warm = rectangular(EMF_V, "thermal voltage", "two metals, a few kelvin")
    return (volts + warm) / (amps * source)


def loaded_ohm(rig: PartOnRig, counts: PulseCounts) -> Any:
    """Ohms under load with budget: the drop over the current that flowed."""
    amps = load_a(rig.scales.load, fmean(counts.shunt))
    if nominal_value(amps) < NO_CURRENT_A:
        return uncertain(WIDEST_V / NO_CURRENT_A, 0.0, "", "")
    return _drop_v(rig, counts) / amps


def _drop_v(rig: PartOnRig, counts: PulseCounts) -> Any:
    return drop_v(rig.scales.drop, fmean(counts.drop), counts.gain)
