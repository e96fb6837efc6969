"""Does a reversed pulse make the part let go, or let go sooner? Magnetised iron does, a weak spring does not.

The coil supply has one polarity, so a person exchanges the two coil leads, and puts them back. Drop-out is measured
before and after, both times after the gentlest make that the part allows: full volts would magnetise the iron again.
Rule: the leads are touched with everything off and seen to be off; with exchanged leads nothing is fed beyond a volt
before it was seen there that the winding, and nothing else, takes its share.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from pulldrop.board.errors import BoardError
from pulldrop.board.request_types import Drive, Stairs
from pulldrop.measure.rig.coil.low_energy import LADDER_V, LEAST_A, respond, walk_low
from pulldrop.measure.rig.coil.suppression import fed
from pulldrop.measure.rig.coil.walks import MAGNETISE_S, ZERO_S, drop_out
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.pairs import happened, watched
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, state
from pulldrop.measure.rig.rig import CannotTest, Rig
from pulldrop.model.raw import CoilCounts, Contact, Landing
from pulldrop.model.reading import Condition, ConditionName, Finding, NotTested, Reading, Term, effective_freedom
from pulldrop.model.run.hand import EXCHANGE, PUT_BACK, Request
from pulldrop.model.steps.coil.reversed import ReversedStep
from pulldrop.model.steps.coil.thresholds import ThresholdsStep

MOST_SHARE, HELD_SHARE = 0.5, 0.4
"""Of nominal: highest reversed pulse, where the step names none; and of a part that stays operated, whose own pull-in
is not known: sound parts begin to pull in at 0.41."""
BELOW_PULL_IN = 0.9
"""No pulse comes nearer to the part's own pull-in: a relay operates with either polarity, and is not to do it here."""
OFF_V = 1.0
"""Above this the coil terminals are not dead; a zero error of the supply, 0.25 V at most, is."""
SAME_OHM = 0.1
"""A coil that was touched and is the same one differs by less: warmth, a lead, the zero of the current."""
POLARISED = ("diode", "zener", "series diode")
AS_TOLD = "as the person said: the bench cannot see which lead is where"


@dataclass(frozen=True, slots=True)
class Pulses:
    """What the reversed pulses did: throws closed after the last one, the first that made the part let go, in volts,
    and the one at which it operated the other way round."""

    contacts: Contact
    volts: tuple[float, ...]
    let_go_v: float | None
    operated_v: float | None
    raw: tuple[Landing | CoilCounts, ...]


def procedure(rig: PartOnRig, step: ReversedStep) -> Iterator[Finding]:
    """contact_released, drop_out_before_reversal, contact_reversed, drop_out_after_reversal, drop_out_rise."""
    rig.ohm()  # needs a coil step before it
    _refuse_polarised(rig)
    released = _operate_once(rig, step)
    held = happened(rig.form.operates, released)
    full = step.full or rig.nominal_v
    yield state("contact_released", rig.state(released), rig.conditions(after=f"{full:g} V, coil off"))
    gentle = full if held else _gentle(rig, step)
    before = _drop_out(rig, step, "drop_out_before_reversal", gentle)
    yield before
    most_v = step.last or (HELD_SHARE if held else MOST_SHARE) * rig.nominal_v
    if not held:  # it closed in the step below `gentle`, and not in the one below that
        most_v = min(most_v, BELOW_PULL_IN * (gentle - 2 * step.coarse))
    pulses = _reversed(rig, step, held, most_v)
    yield _told(rig, step, pulses)
    if happened(rig.form.operates, pulses.contacts):
        raise CannotTest("the part did not let go: it has no drop-out")
    after = _drop_out(rig, step, "drop_out_after_reversal", _gentle(rig, step))
    yield after
    yield _rise(rig, before, after)
    rig.release(ZERO_S)


# --- before anybody touches anything ---


def _refuse_polarised(rig: PartOnRig) -> None:
    """With exchanged leads a diode across the coil is a short, and one in series blocks."""
    rig.off()
    response = respond(Rig(rig.board, rig.calibration))
    if response.stopped_v is not None:
        raise CannotTest(f"at {response.stopped_v:g} V something else than the winding takes current: nothing reversed")
    seen, told, _ = fed(response)
    if seen.kind in POLARISED:
        what = told.text if told else f"a {seen.kind}"
        raise CannotTest(
            f"the part is polarised ({what}): with exchanged leads the diode, not the coil, would take the pulse. No"
            " lead was exchanged; without its diode the part could be tested so"
        )


def _operate_once(rig: PartOnRig, step: ReversedStep) -> Contact:
    """Operate the part at full volts, which also magnetises what can be, and give the throws closed with the coil off.

    The lowest steps are beneath it: nothing is left of them.
    """
    full = step.full or rig.nominal_v
    rig.energise(full, MAGNETISE_S)
    closed = rig.contacts()
    released = rig.release(ZERO_S)
    operates = rig.form.operates
    if not happened(operates, closed):
        raise CannotTest(
            f"{operates.pair} did not {operates.verb} at {full:g} V, so nothing is known of how the part lets go"
        )
    return released


def _gentle(rig: PartOnRig, step: ReversedStep) -> float:
    """A step more than the least volts at which the part operates, coming up from zero."""
    full = step.full or rig.nominal_v
    rig.release(ZERO_S)
    stride = max(1, round(step.coarse / rig.volts_per_count))
    count = max(1, (rig.dac_for(full) - rig.dac_for(0.0)) // stride + 1)
    dwell_ms = round(ThresholdsStep.model_fields["coarse_dwell"].default * 1000)
    drive = rig.drive(0.0, count * dwell_ms + 1000, limit=rig.trip_limit(full))
    landing = rig.board.staircase(Stairs(drive, stride, count, dwell_ms, *watched(rig.form.operates)))
    if not landing.stopped:
        rig.release(ZERO_S)
        operates = rig.form.operates
        raise CannotTest(f"{operates.pair} did not {operates.verb} in steps up to {full:g} V")
    return min(rig.volts_at(landing.dac) + step.coarse, full)


def _drop_out(rig: PartOnRig, step: ReversedStep, id: str, gentle: float) -> Finding:
    as_here = {"coarse": step.coarse, "fine": step.fine, "walks": step.walks}
    walk = ThresholdsStep(measure="thresholds").model_copy(update=as_here)
    found = drop_out(rig, walk, id, gentle, gentle - step.coarse)
    if isinstance(found, NotTested):
        return found
    made = Condition(name="made at", text=f"{gentle:.1f} V", value=gentle, unit="V")
    return found.model_copy(update={"conditions": (*found.conditions, made)})


# --- the leads ---


def _ask(rig: PartOnRig, request: Request, otherwise: str) -> None:
    """Have it done, with everything off and seen to be off. CannotTest with `otherwise` when it is left out."""
    rig.off()
    volts = rig.supply_v(rig.board.sense_coil().bus)
    if rig.board.status().on or volts > OFF_V:
        raise BoardError(
            f"The board was ordered to turn everything off, but {volts:.1f} V are at the coil: touch no lead. Take the"
            " coil supply off, then run pulldrop board self-test."
        )
    if rig.hand is None or not rig.hand(request):
        raise CannotTest(otherwise, because="left out")


def _reversed(rig: PartOnRig, step: ReversedStep, held: bool, most_v: float) -> Pulses:
    """The pulses, and the leads back in their place, whatever the part allowed between."""
    nobody = "nobody was asked to exchange the coil leads" if rig.hand is None else "the exchange was left out"
    _ask(rig, EXCHANGE, f"left out: {nobody}")
    left = "the leads were not put back; put 85 to 85 and 86 to 86 before anything else is tested"
    try:
        _same_coil(rig, "with exchanged leads")
        pulses = _pulses(rig, step, held, most_v)
    except CannotTest as why:
        _ask(rig, PUT_BACK, f"{why}; {left}")
        raise
    _ask(rig, PUT_BACK, left)
    _same_coil(rig, "with the leads put back")
    return pulses


def _same_coil(rig: PartOnRig, how: str) -> None:
    """The lowest steps: no diode conducts, and between the leads lies the coil that lay there before."""
    response, ohm = walk_low(Rig(rig.board, rig.calibration)), nominal_value(rig.ohm())
    if response.stopped_v is not None:
        raise CannotTest(
            f"{how} something else than the winding takes current at {response.stopped_v:g} V: a diode conducts, or"
            " two blades touch. Nothing more was applied"
        )
    top = response.points[-1]
    if top.a < LEAST_A:
        raise CannotTest(f"{how} no current flows: a lead is off, the part was pulled, or a diode blocks")
    if not math.isclose(top.v / top.a, ohm, rel_tol=SAME_OHM):
        raise CannotTest(f"{how} {top.v / top.a:.0f} ohm lie between them, and the coil has {ohm:.0f}: look at both")


# --- the pulses ---


def _pulses(rig: PartOnRig, step: ReversedStep, held: bool, most_v: float) -> Pulses:
    """Each larger than the one before, and after each the throws that are closed; `held`: operated with the coil off.

    The lowest steps, a volt at most, were reversed pulses too.
    """
    contacts, ohm = rig.release(ZERO_S), nominal_value(rig.ohm())
    given: list[float] = []
    raw: list[Landing | CoilCounts] = []

    def operated(closed: Contact) -> bool:
        return happened(rig.form.operates, closed)

    let_go_v = LADDER_V[-1] if held and not operated(contacts) else None
    operated_v = None
    for index in range(step.pulses):
        volts, held = most_v * (index + 1) / step.pulses, operated(contacts)
        dac, on_ms = rig.dac_for(volts), round(step.pulse * 1000) + 1000
        rig.hold(Drive(dac, on=True, on_ms=on_ms, limit=rig.limit_for(1.5 * volts / ohm)), step.pulse)
        counts, during = rig.board.sense_coil(), rig.contacts()
        contacts = rig.release(ZERO_S)
        given.append(volts)
        raw += [Landing(stopped=not operated(contacts), index=index, dac=dac, contacts=contacts), counts]
        if held and not operated(contacts):
            let_go_v = volts
        if not held and operated(during):
            operated_v = volts
            break
    return Pulses(contacts, tuple(given), let_go_v, operated_v, tuple(raw))


def _told(rig: PartOnRig, step: ReversedStep, pulses: Pulses) -> Reading:
    """contact_reversed, with what the pulses did in its conditions."""
    sizes = f"{len(pulses.volts)} of {step.pulse * 1000:.0f} ms, {pulses.volts[0]:.1f} to {pulses.volts[-1]:.1f} V"
    shown = [*rig.conditions(leads=f"exchanged, {AS_TOLD}", reversed_pulses=sizes)]
    for name, volts in ((ConditionName.LET_GO_AT, pulses.let_go_v), ("operated the other way at", pulses.operated_v)):
        if volts is not None:
            shown.append(Condition(name=name, text=f"{volts:.1f} V reversed", value=volts, unit="V"))
    return state("contact_reversed", rig.state(pulses.contacts), tuple(shown), pulses.raw)


def _rise(rig: PartOnRig, before: Finding, after: Finding) -> Finding:
    """After less before, with both uncertainties as if they had nothing in common: what they share errs to the wide."""
    id, shown = "drop_out_rise", rig.conditions(leads=f"exchanged and put back, {AS_TOLD}")
    if isinstance(before, NotTested) or isinstance(after, NotTested) or after.bound == "<":
        return NotTested(id=id, reason="the drop-out after the reversed pulses has no number")
    assert before.value is not None and after.value is not None
    if before.bound == "<":
        return bounded(id, ">", after.value - after.expanded_uncertainty - before.value, shown)
    budget = tuple(
        Term(name=f"drop-out {when}", u=one.standard_uncertainty, why="its own budget", freedom=_freedom(one))
        for when, one in (("before", before), ("after", after))
    )
    return Reading(id=id, unit="V", value=after.value - before.value, budget=budget, conditions=shown)


def _freedom(one: Reading) -> float | None:
    freedom = effective_freedom(one.budget)
    return None if math.isinf(freedom) else freedom
