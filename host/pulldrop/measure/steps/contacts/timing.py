"""Operate, release, bounce and transfer: the coil stepped on and off, the edges of both throws logged.

Each make starts from rest and each break from a coil whose flux has settled; the median of the makes is the
reading, their scatter is in the budget.
"""

import statistics
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts import edges, latency
from pulldrop.measure.rig.counts.budget import enclosed_median, median_of, nominal_value, rectangular
from pulldrop.measure.rig.counts.channels import BENCH_CLAMP_V, LOW_SIDE_GAIN, OWN_DIODE_MOST_V, peak_v
from pulldrop.measure.rig.counts.supply_volts import brought
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import ATTITUDE, CLAMPS, bounded, ends_at, reading, state
from pulldrop.measure.rig.rig import CannotTest, CoilPoint
from pulldrop.model.part.relay import NC, NO, SEEN_BY, PairChange, RelayForm
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact
from pulldrop.model.reading import Condition, ConditionName, Finding, NotTested, amount
from pulldrop.model.steps.contacts.timing import TimingStep

WINDOW_MS = 30
DIVIDER = 2
"""A sample every 100 us: 300 samples over the window."""
HOLD_S, REST_S = 0.1, 0.03
"""On before each break, so that the flux has settled, and off before each make."""
FOLLOWS = {
    "operate_time": (1.1, 0.5, 0.2),
    "transfer_time": (0.75, 0.45, 0.2),
    "bounce_time_no": (0.65, 0.42, 0.27),
    "release_time": (0.25, -0.15, 0.15),
}
FOLLOWS_WITHOUT_NC = {"bounce_time_no": (0.2, 0.08, 0.2)}
OWN_CLAMP = {"release_time": (0.25, -0.5, 0.5), "bounce_time_nc": (0.0, 0.7, 0.7)}
"""How a time follows the coil's drive: (by which share of a change of volts, of a change of ohms, and how far from the
latter it may be); a time that is not named follows neither.

The time to reach a current I is -L/R ln(1 - I R / V), which grows by half of R's share at I R / V = 0.5; the armature's
flight knows R less. FOLLOWS_WITHOUT_NC: of a part that has no NC to press against at rest. OWN_CLAMP: where the bench's
clamp is not reached; the current of a diode goes out with L/R.

From nine in ten virtual parts of four classes, in the order of FOLLOWS. Volts (40 parts): 0.95 to 1.2, 0.55 to 0.85, 0
to 1.0, 0.08 to 0.35. Ohms (360 parts): 0.37 to 0.67, 0.3 to 0.6, a bounce of NO (200 parts) 0.15 to 0.69 and without an
NC 0 to 0.26, a release -0.22 to -0.08; with a clamp of their own -1.0 to -0.15, and 0 to 1.4 of a bounce."""
TVS_V, TVS_ROOM = 68.0, 0.05
"""The bench's clamp, and its tolerance (hardware/catalogue.yaml)."""
CLAMP_SHARE, AT_CLAMP = 0.65, 0.95
"""How much of the time at the clamp a release follows, at most (the same parts: 0.15 to 0.66; the flux lags behind the
current), and the share of the peak above which the clamp conducts."""
MAKES_DIFFER, TRANSFERS_DIFFER = 0.003, 0.001
"""Standard deviation of one make's time as a share of it, before it is seen (assumed). What differs from move to move
moves both ends of a transfer: virtual parts differ by 0.01 to 0.2 % of it."""
APART, BOUNCES_APART, APART_SHARE = TICKS_PER_S // 2000, TICKS_PER_S // 500, 0.5
"""Makes of one part contradict each other where they switch further apart than 0.5 ms, or bounce by more than 2 ms
longer or shorter, and by more than this share of their median (assumed). Those of parts in stock switch within 0.94 ms
and 30 % of each other, a sluggish one's release, and bounce within 0.42 ms."""
CHATTERS = "it chatters, or there is noise on its wire"
LEAST = 3
"""So many makes tell a transfer better without those that may have waited than with them."""


@dataclass(frozen=True, slots=True)
class CoilDrive:
    """How the coil was driven: volts asked for, volts (1 with their relative uncertainty), the share by which its ohms
    may be off those of a winding as warm as the bench (0), how far the volts are off those asked for and the warming
    since the coil step as shares, the seconds for which the bench's clamp takes the coil's energy at a break, 0 when
    the part does so itself, and the share by which a supply that nobody can set is off the volts asked for."""

    asked_v: float
    one: Any
    winding: Any
    off: float
    warmer: float
    clamped_s: float
    brought: float


@dataclass(frozen=True, slots=True)
class Time:
    """One measurement: how it is found, and between which edges (start None: the coil)."""

    id: str
    span: Callable[[Capture], edges.Span | None]
    start: latency.End | None
    end: latency.End
    shown: tuple[Condition, ...]

    @property
    def throws(self) -> tuple[Contact, ...]:
        """Whose edges it is found by."""
        return (self.end.throw,) if self.start is None else (self.start.throw, self.end.throw)


def procedure(rig: PartOnRig, step: TimingStep) -> Iterator[Finding]:
    """contact_operated, operate_time, release_time, bounce_time_no, bounce_time_nc, transfer_time."""
    rig.must_rest(rig.rest)
    loaded = rig.has_load()
    rig.release(REST_S)
    makes, breaks, operated, points = _cycle(rig, step, loaded)
    coil = _coil(rig, points, step, breaks)
    coil_v = points[-1].v
    wiring.clamp(rig, breaks, step.clamp == "diode", coil_v)
    at = rig.conditions(coil_voltage=amount(coil_v, "V", ".2f"), makes=str(len(makes)), attitude=ATTITUDE)
    if rig.able.coil == "by hand":
        at += (Condition(name="brought to", text=f"{step.coil:g} V; a bounce stays at the supply's volts"),)
    operates, throw = rig.form.operates, SEEN_BY[rig.form.operates.pair]
    yield state("contact_operated", rig.state(operated), at)
    missed = [c for c in makes if edges.first(c, throw, operates.closes) is None]
    never = f"{operates.pair} did not {operates.verb}"
    if any(c.edges_lost for c in missed):
        raise CannotTest(
            "a contact chattered until the board's log of edges was full, or noise on its wire filled it;"
            f" {never} before that"
        )
    if missed:
        yield bounded("operate_time", ">", WINDOW_MS / 1000, at, raw=makes)
        raise CannotTest(f"{never} within {WINDOW_MS} ms in {len(missed)} of {len(makes)} makes at {coil_v:.1f} V")
    clamp: tuple[Condition, ...] = (CLAMPS[step.clamp].model_copy(update={"name": ConditionName.CLAMP}),)
    if step.clamp == "tvs" and statistics.median(peak_v(c) for c in breaks) - coil_v <= OWN_DIODE_MOST_V:
        clamp += (Condition(name=ConditionName.OWN_DIODE, text="across the coil, inside the part"),)
    first = rig.first("operate_time")
    for captures, time in times_of(rig.form, makes, breaks, loaded, at, at + clamp, first):
        yield _median(rig, time, captures, coil)


def times_of(
    form: RelayForm,
    makes: list[Capture],
    breaks: list[Capture],
    loaded: bool,
    on: tuple[Condition, ...] = (),
    off: tuple[Condition, ...] = (),
    first: tuple[Condition, ...] = (),
) -> Iterator[tuple[list[Capture], Time]]:
    """What each make and each break is asked for. `loaded`: the load supply is there; `first`: of the first make."""
    no, nc = (latency.End(throw, True, loaded) for throw in (Contact.NO, Contact.NC))
    pairs = form.pairs
    yield makes, _until("operate_time", form.operates, loaded, on + first)
    yield breaks, _until("release_time", form.releases, loaded, off)
    if NO in pairs:
        yield makes, Time("bounce_time_no", lambda c: edges.bouncing(c, Contact.NO), no, no, shown=on)
    if NC in pairs:
        yield breaks, Time("bounce_time_nc", lambda c: edges.bouncing(c, Contact.NC), nc, nc, shown=off)
    if NO in pairs and NC in pairs:
        shown = on + _ends(PairChange(NC, closes=False), PairChange(NO, closes=True))
        opens = latency.End(Contact.NC, False, loaded)
        yield makes, Time("transfer_time", edges.transfer, opens, no, shown=shown)


def _until(id: str, change: PairChange, loaded: bool, shown: tuple[Condition, ...]) -> Time:
    """From the step of the coil to the first such change of a pair that ends so."""
    end = latency.End(SEEN_BY[change.pair], change.closes, loaded)
    return Time(id, lambda c: edges.from_step(edges.change(c, end.throw, end.closes)), None, end, shown + _ends(change))


def _cycle(
    rig: PartOnRig, step: TimingStep, loaded: bool
) -> tuple[list[Capture], list[Capture], Contact, list[CoilPoint]]:
    """All makes and breaks, the throws closed while operated for the last time, the coil's point of every make."""
    makes, breaks, points = [], [], []
    diode = step.clamp == "diode"
    for made in range(step.makes):
        if made:
            rig.wait(REST_S)
        on = rig.drive(step.coil, diode=diode)
        makes.append(rig.board.step_coil(on, WINDOW_MS, DIVIDER))
        rig.wait(HOLD_S)
        operated = rig.contacts()
        points.append(rig.sense())
        off = rig.drive(step.coil, on=False, diode=diode)
        breaks.append(rig.board.step_coil(off, WINDOW_MS, DIVIDER, low_side=True))
        wiring.must_be_clamped(rig, breaks[-1])
        if rig.told_enough(_seconds(rig, makes, breaks, loaded)):
            break
    return makes, breaks, operated, points


def _seconds(rig: PartOnRig, makes: list[Capture], breaks: list[Capture], loaded: bool) -> dict[str, list[float]]:
    """Each time of every make so far; of a part that never operates, that alone, as long as the window."""
    operates = rig.form.operates
    if all(edges.first(c, SEEN_BY[operates.pair], operates.closes) is None for c in makes):
        return {"operate_time": [WINDOW_MS / 1000] * len(makes)}
    return {
        time.id: [make.ticks / TICKS_PER_S for make in _made(time, captures)]
        for captures, time in times_of(rig.form, makes, breaks, loaded)
    }


def _coil(rig: PartOnRig, points: Sequence[CoilPoint], step: TimingStep, breaks: Sequence[Capture]) -> CoilDrive:
    """What is known of the drive from the coil's points, and from its low end at the breaks.

    The mean over the makes: the coil warms from each to the next, by as much in all as it did in the steps before.
    """
    volts = sum(p.volts for p in points) / len(points)
    amps = sum(p.amps for p in points) / len(points)
    warmer = nominal_value(volts / amps / rig.ohm()) - 1 if nominal_value(amps) > 0 else 0.0
    coil_v = nominal_value(volts)
    off = max(rig.volts_per_count / 2, abs(coil_v - step.coil)) / step.coil
    brought = 0.0
    if rig.able.coil == "by hand":
        brought, off = coil_v / step.coil - 1, 0.0
    clamped_s = statistics.fmean(clamped(c) for c in breaks) if step.clamp == "tvs" else 0.0
    return CoilDrive(step.coil, volts / coil_v, rig.winding_share(), off, max(warmer, 0.0), clamped_s, brought)


def clamped(capture: Capture) -> float:
    """Seconds for which the low end of the coil stands at the bench's clamp; 0 when it never comes to it."""
    most = max(capture.samples)
    if most < BENCH_CLAMP_V / LOW_SIDE_GAIN:
        return 0.0
    return sum(sample >= AT_CLAMP * most for sample in capture.samples) * capture.sample_ticks / TICKS_PER_S


def _median(rig: PartOnRig, time: Time, captures: Sequence[Capture], coil: CoilDrive) -> Finding:
    """Median over the makes of one time; NotTested when any make lacks it, which is said. A log that was full says
    nothing of a bounce: a contact that chatters and noise on its pin fill it alike.

    A bounce, from a throw to itself, may come in twos and threes, so that ranks enclose it; the others are normal.
    """
    makes = _made(time, captures)
    if reason := doubt(time, captures):
        return NotTested(id=time.id, reason=reason)
    assumed = makes_differ(time.id) * statistics.median(make.ticks for make in makes)
    telling = latency.prompt(makes, LEAST) if time.id == "transfer_time" else makes
    typical = enclosed_median if time.start == time.end else median_of
    middle = typical([make.ticks for make in telling], "makes", assumed)
    middle = middle + latency.waiting(telling) + latency.room(time.start, time.end)
    middle = middle * _drive(coil, _follows(time.id, NC in rig.form.pairs, coil.clamped_s > 0))
    middle = middle * brought(time.id, coil.brought)
    value = rig.scales.tick.span(middle)
    if time.id == "release_time" and coil.clamped_s:
        value = value + _clamp(coil)
    single = [nominal_value(rig.scales.tick.span(make.ticks)) for make in makes]
    return reading(time.id, value, time.shown, raw=captures, makes=single)


def makes_differ(id: str) -> float:
    """Standard deviation of one make of this time as a share of it, before it is seen."""
    return TRANSFERS_DIFFER if id == "transfer_time" else MAKES_DIFFER


def doubt(time: Time, captures: Sequence[Capture]) -> str:
    """Why the captures tell no such time, or none to rely on; empty when they do."""
    spans = [span for c in captures if (span := time.span(c)) is not None]
    again = sum(any(edges.moves_again(c, throw) for throw in time.throws) for c in captures)
    if again:
        return f"in {again} of {len(captures)} makes a contact rested and then moved again: {CHATTERS}"
    if len(spans) < len(captures):
        moving = sum(not edges.rests(c, time.end.throw) for c in captures)
        why = f"; in {moving} it did not come to rest: {CHATTERS}" if moving else ""
        return f"the contacts gave no such time in {len(captures) - len(spans)} of {len(captures)} makes{why}"
    bounces = time.start == time.end
    switched = [span.start if bounces else span.end for span in spans]
    if _apart(switched, APART):
        return f"the makes contradict each other, a contact switches {_from_to(switched)} after the coil: {CHATTERS}"
    lasts = [span.end - span.start for span in spans]
    if bounces and _apart(lasts, BOUNCES_APART):
        return f"the makes contradict each other, a contact bounces for {_from_to(lasts)}: {CHATTERS}"
    return ""


def _apart(ticks: Sequence[int], least: int) -> bool:
    return max(ticks) - min(ticks) > max(least, APART_SHARE * statistics.median(ticks))


def _from_to(ticks: Sequence[int]) -> str:
    return " to ".join(f"{1000 * tick / TICKS_PER_S:.2f}" for tick in (min(ticks), max(ticks))) + " ms"


def _follows(id: str, has_nc: bool, clamped: bool) -> tuple[float, float, float]:
    own = {**({} if has_nc else FOLLOWS_WITHOUT_NC), **({} if clamped else OWN_CLAMP)}
    return own.get(id) or FOLLOWS.get(id, (0.0, 0.0, 0.0))


def _made(time: Time, captures: Sequence[Capture]) -> list[latency.TimedMake]:
    """One time of every make that has it."""
    spans = [span for c in captures if (span := time.span(c)) is not None]
    return [latency.made(span, time.start, time.end) for span in spans]


def _drive(coil: CoilDrive, follows: tuple[float, float, float]) -> Any:
    """1, with what volts and warmth of the coil make of a time that follows them."""
    of_volts, of_ohms, room = follows
    setting = rectangular(coil.off, "coil volts setting", "volts off those asked for")
    warmth = rectangular(room * coil.warmer, "coil warmth", "the coil is warmer than the bench", "warmth")
    return 1 + of_volts * (coil.one - 1 + setting) + warmth - of_ohms * (coil.warmer + coil.winding)


def _clamp(coil: CoilDrive) -> Any:
    """0 s, with what the clamp's tolerance makes of a release: the current falls in about L I / (clamp - supply)."""
    room = CLAMP_SHARE * coil.clamped_s * TVS_ROOM * TVS_V / (TVS_V - coil.asked_v)
    return rectangular(room, "clamp", "the TVS of the bench is 5 % exact")


def _ends(*changes: PairChange) -> tuple[Condition, ...]:
    return (ends_at(*changes).model_copy(update={"name": ConditionName.ENDS_AT}),)
