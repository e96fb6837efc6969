"""Contacts at rest, the first make, coil resistance and current; the coil first met at a low voltage.

The probe at about 1 V comes first: a shorted coil or a suppression diode the wrong way round shows there as too
much current, at an energy that hurts neither part nor bench; nothing more is then applied. The first time that the
coil gets full volts is a make like those of the timing (first_make.py): what sticks or insulates after years of rest
does so once.
"""

from collections.abc import Iterator
from typing import Any

from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.coil import look as coil_look
from pulldrop.measure.rig.counts.budget import LEADS_OHM, nominal_value, rectangular, whole_or_none
from pulldrop.measure.rig.counts.copper import REFERENCE_C, at_20c, rise_k
from pulldrop.measure.rig.first_make import first_make
from pulldrop.measure.rig.part import OPEN_COIL_A, SUPPLY_SHARE, PartOnRig
from pulldrop.measure.rig.readings import bounded, not_tested, reading, state
from pulldrop.measure.rig.rig import CannotTest, CoilPoint, PartStops
from pulldrop.model.bench.calibration import COIL_LEADS
from pulldrop.model.part.relay import NC, NO, TWIN, form_of
from pulldrop.model.raw import CoilCounts, Contact
from pulldrop.model.reading import Condition, Finding, Reading, amount
from pulldrop.model.step import COIL_MOST_A
from pulldrop.model.steps.coil.coil import CoilStep

PROBE_LIMIT_COUNTS = 300
"""About 90 mA: a coil of 60 ohm, the lowest of its class, takes 17 mA at 1 V."""
PROBE_MORE = 0.35
"""The DAC's zero may leave a quarter of a volt missing (MCP4725: 0.75 % of full scale), and a diode the wrong way round
unnoticed: what is missing is added, up to this share of the probe."""
STEADY, STEADY_COUNTS, STEADY_LOOKS = 0.001, 3, 3
"""So many looks, one after the other, must agree to this share or to these counts (six times the noise). Two could lie
on either side of the dip that an armature makes as it moves. One that creeps before it moves takes up to 1 % less
(virtual parts), and that is not noticed."""
LOOKS_MOST = 50
"""Half a second: near its pull-in a coil of 24 V on 12 V operates after as much as 0.25 s (virtual parts)."""
PROBE_NEAR = 0.03
"""What is missing of the probe is not added below this share of it: a diode the wrong way round shows at 0.9 V too."""
NOT_COPPER, NOT_COPPER_ROOM = 0.12, 0.06
"""Share of a part's conductance that a suppression resistor takes, and how far from it: 680 ohm across 80 to 100
(makers' sheets). It does not follow the copper law, so that much of the correction to 20 degC is too much."""
COOLER_K, WARMER_K = 1.0, 10.0
"""Of one part between two of its runs: the room may drift, and three full tests warm a small coil by some 5 K
(virtual parts). Beyond it is another part."""


def procedure(rig: PartOnRig, step: CoilStep) -> Iterator[Finding]:
    """contact_rest, first_operate_time, first_drop_*, coil_resistance, coil_resistance_20c, coil_current."""
    rig.rest = rig.release(0.02)
    yield state("contact_rest", rig.state(rig.rest), rig.conditions(coil="off"))
    dry = wiring.DryLooks(rig)
    dry.look()
    rig.take_zero()
    at = step.at or rig.nominal_v
    yield from _probe(rig, step.probe, at) if rig.able.coil == "set" else _look_first(rig, at)
    yield from first_make(rig, step, at)
    dac = rig.dac_for(at)
    point = _steady(rig)
    rig.learn_setting(point, dac)
    if point.a < OPEN_COIL_A:
        wiring.coil_leads(rig, point.v, at)
        yield from _open(rig, point)
    wiring.coil_current(rig, point, at)
    operated = dry.look()
    if at >= rig.nominal_v:
        rig.at_nominal = operated
    yield from _ohms(rig, point)
    released = rig.release(0.03)
    if released & ~rig.rest & Contact.NC and rig.form.pairs == (NO,):
        told = (
            "87a was open and closes since its coil was on, so this is a changeover part whose 87a insulates after rest"
        )
        raise PartStops(f"{told}: test it by a rating of {form_of(NO, NC).called}", because="other form")
    if operated & Contact.NO and NO not in rig.form.pairs:
        both = form_of(NO, NC)
        told = f"87 closes with the coil on, so this is a {both.title} part: test it by a rating of {both.called}"
        raise PartStops(told, because="other form")
    if operated == Contact.NO | Contact.NC and TWIN not in rig.form.pairs and not rig.rest & Contact.NC:
        called = form_of(NO, TWIN).called
        told = f"with the coil on both blades close, so this is one with two blades 87: test it by a rating of {called}"
        raise PartStops(told, because="other form")


def _steady(rig: PartOnRig) -> CoilPoint:
    """The coil once its current is steady. PartStops when it does not become so."""
    points: list[CoilPoint] = []
    for _ in range(LOOKS_MOST):
        points = [*points, rig.sense()][-STEADY_LOOKS:]
        shunts = [point.counts.shunt for point in points]
        if len(points) == STEADY_LOOKS and max(shunts) - min(shunts) <= max(STEADY * max(shunts), STEADY_COUNTS):
            return points[-1]
    bus = points[-1].counts.bus
    low, high = (nominal_value(rig.coil_amps(float(shunt), bus)) * 1000 for shunt in (min(shunts), max(shunts)))
    rig.release(0.02)
    raise PartStops(
        f"the coil's current is not steady: at the end it went between {low:.1f} and {high:.1f} mA. Seat the part and"
        " test it again; if that stays so, a joint of its coil is about to part"
    )


def _ohms(rig: PartOnRig, point: CoilPoint) -> Iterator[Finding]:
    """The three readings of a coil that carries current."""
    leads = LEADS_OHM / 2 + rig.scales.against(LEADS_OHM / 2, COIL_LEADS, "leads and clips in series with the coil")
    ohm = point.volts / point.amps - leads
    rig.coil_ohm = nominal_value(ohm)
    shown = rig.conditions(coil_voltage=amount(point.v, "V", ".2f"))
    if rig.cold_ohm:
        warmth_k = _warmth_k(rig, rig.coil_ohm)
        shown += (Condition(name="warmer by", text=f"{warmth_k:.1f} K, by its ohms before that"),)
        ohm *= rig.cold_ohm / rig.coil_ohm
    ohm *= 1 + rig.winding_share()
    rig.coil_ohm_bench = ohm
    yield reading("coil_resistance", ohm, shown, raw=[point.counts])
    yield _resistance_20c(rig, ohm, shown)
    yield reading("coil_current", rig.nominal_v / ohm, rig.conditions(coil_voltage=amount(rig.nominal_v, "V")))


def _warmth_k(rig: PartOnRig, ohm: float) -> float:
    """Kelvin by which an earlier run has warmed the winding; its first reading, before that, counts."""
    celsius = REFERENCE_C if rig.temperature_c is None else rig.temperature_c
    warmth = rise_k(rig.cold_ohm or ohm, ohm, celsius, celsius)
    if not -COOLER_K <= warmth <= WARMER_K:
        told = f"its coil has {ohm:.2f} ohm, the one before had {rig.cold_ohm:.2f} ohm"
        raise PartStops(f"not the part that was here: {told}", because="other part")
    return warmth


def _resistance_20c(rig: PartOnRig, ohm: Any, shown: Any) -> Finding:
    try:
        corrected = at_20c(ohm, rig.temperature())
        corrected = corrected - _not_copper(rig, nominal_value(corrected - ohm))
    except CannotTest as why:
        return not_tested("coil_resistance_20c", why)
    return reading("coil_resistance_20c", corrected, shown)


def _not_copper(rig: PartOnRig, correction: float) -> Any:
    """What of a correction to 20 degC is too much: with a resistor in the part, which its rating gives, or nobody"
    " does."""
    effect = NOT_COPPER * correction
    match rig.plan.relay.suppression:
        case None:
            return whole_or_none(effect, "not copper", "a resistor in parallel may be in it, or not")
        case "resistor":
            room = NOT_COPPER_ROOM * abs(correction)
            return effect + rectangular(room, "not copper", "the resistor in parallel, of a usual size")
        case _:
            return 0.0


def _probe(rig: PartOnRig, volts: float, at: float) -> Iterator[Finding]:
    """Hold the low probe voltage; a trip there, or one foreseen `at` volts, is a finding, and ends the part's test."""
    point = _hold(rig, volts)
    if point and (missing := min(volts - point.v, PROBE_MORE * volts)) > PROBE_NEAR * volts:
        point = _hold(rig, volts + missing, 0.02)
    if point:
        yield from _foreseen(rig, point, at)
        return
    limit_a = PROBE_LIMIT_COUNTS * rig.amps_per_count
    shown = rig.conditions(coil_voltage=amount(volts, "V"), stopped_by="over-current trip")
    yield bounded("coil_resistance", "<", volts / limit_a, shown)
    yield bounded("coil_resistance_20c", "<", volts / limit_a, shown)
    yield bounded("coil_current", ">", limit_a, shown)
    raise PartStops(
        f"the coil takes more than {limit_a * 1000:.0f} mA at {volts:g} V: shorted, or its suppression diode is "
        "the wrong way round; nothing more was applied"
    )


def _look_first(rig: PartOnRig, at: float) -> Iterator[Finding]:
    """A few mA, where the coil's volts cannot be set low; what they show, or foresee `at` volts, may end the test."""
    seen = coil_look.look(rig)
    if not seen.clamp:
        yield from _foreseen(rig, CoilPoint(seen.volts, seen.amps, _as_coil(seen)), at)
        return
    most = seen.volts / seen.amps
    shown = rig.conditions(method="a few mA from 86 to 85", held=amount(seen.v, "V", ".2f"))
    bound = nominal_value(most) + 2 * float(most.std_dev)
    yield bounded("coil_resistance", "<", bound, shown, raw=seen.counts)
    yield bounded("coil_resistance_20c", "<", bound, shown)
    yield bounded("coil_current", ">", rig.nominal_v / bound, shown)
    raise PartStops(f"the coil holds {seen.v:.2f} V at {seen.a * 1000:.0f} mA: {seen.clamp}; nothing more was applied")


def _as_coil(seen: coil_look.CoilLook) -> CoilCounts:
    return CoilCounts(bus=seen.counts[-1].source, shunt=seen.counts[-1].driven)


def _hold(rig: PartOnRig, volts: float, seconds: float = 0.04) -> CoilPoint | None:
    return rig.tried(rig.drive(volts, limit=PROBE_LIMIT_COUNTS), seconds)


def _foreseen(rig: PartOnRig, point: CoilPoint, at: float) -> Iterator[Finding]:
    """The coil by the probe alone, where it would take more `at` volts than the supply gives; else nothing."""
    volts, amps = point.v, point.a
    if volts <= 0 or amps * at <= COIL_MOST_A * SUPPLY_SHARE * volts:
        return
    rig.release(0.02)
    yield from _ohms(rig, point)
    raise PartStops(
        f"beyond this bench: at {at:g} V the coil would take {1000 * amps * at / volts:.0f} mA, for it has"
        f" {volts / amps:.0f} ohm at {volts:.1f} V; the supply gives {COIL_MOST_A * 1000:.0f} mA at most,"
        " so nothing more was applied",
        because="beyond bench",
    )


def _open(rig: PartOnRig, point: Any) -> Iterator[Reading]:
    """Next to no current at nominal voltage."""
    most_a = max(point.a, 0.0) + 2 * point.amps.std_dev
    shown = rig.conditions(coil_voltage=amount(point.v, "V", ".2f"))
    rig.release(0.02)
    yield bounded("coil_resistance", ">", point.v / most_a, shown, raw=[point.counts])
    yield bounded("coil_resistance_20c", ">", point.v / most_a, shown)
    yield bounded("coil_current", "<", most_a, shown)
    raise PartStops("the coil carries no current, so it cannot operate the contacts")
