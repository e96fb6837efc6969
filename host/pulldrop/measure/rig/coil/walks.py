"""Walks of the coil's volts to where a contact changes: magnetised first, coarse steps, then finer ones.

A plain ramp reads high by ramp rate times operate time; steps with a dwell do not. Coming always from the same
magnetic state makes one part give one answer: hardened iron keeps the strongest field that it met, so every walk begins
with the strongest of the whole plan, whatever came before it. The threshold is found as coil current, because the
armature feels ampere-turns, and stated in volts for a coil as warm as the bench: its warming during the test drops out.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from pulldrop.board.request_types import DAC_MAX, ON_MS_MAX, Stairs
from pulldrop.measure.rig.counts.budget import median_of, nominal_value, rectangular
from pulldrop.measure.rig.pairs import happened, watched
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import ATTITUDE, bounded, ends_at, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.part.relay import PairChange
from pulldrop.model.raw import CoilCounts, Landing
from pulldrop.model.reading import Condition, Finding, Raw
from pulldrop.model.steps.coil.thresholds import ThresholdsStep

MAGNETISE_S, ZERO_S = 0.1, 0.06
"""At full volts before a walk, and with the coil off before one that goes up: several time constants of the flux."""
DROP_START = 0.8
"""Drop-out is sought from this share of nominal down, or of a magnetising voltage below that."""
PATIENT_S = 0.15
"""Dwell of the coarse steps when a part has not let go down to zero: close to it the flux takes its time."""
MARGIN = 2
"""Each finer walk begins this many steps of the coarser one before its landing: the flux lags behind short dwells."""
WIDER = (1, 3, 9)
"""A walk that begins behind the threshold is made again from so many times as far."""
AGAIN = 4
"""A repeated fine walk begins this many of its steps before the last landing."""
MIDDLE_FROM = 8
"""With coarse steps more than this many fine ones, a middle walk between them saves time."""
MIDDLE_DWELL = 0.5
"""Dwell of the middle walk as a share of the fine one; its margin covers the lag."""
MOTION_S = 0.01
"""What the armature needs of a dwell to let go, once the flux lets it (release times of makers' sheets)."""
SEATED_S = 0.03
"""Time constant of the flux with the armature seated, L/R (assumed: 2.5 H over 85 ohm); longer where the part's is."""
FOLLOWS = 3.0
"""Time constants of its flux that a part is given at each step, at least."""
LOOK_S, STEADY, SLOWEST_S = 0.01, 0.002, 1.0
"""Between two looks at the current of a coil that comes down; by which share of itself it changes once it is steady;
how long it is looked at, at most."""
SEEN_COUNTS, FALLS_COUNTS, LEAST_FALL = 5, 30, 1.05
"""What is left of a change of its current is told from noise at so many counts; a change that tells how quickly it
falls has so many at least, and falls by this factor at least."""
SPARE_MS = 1000
"""The coil stays on after a walk, to be read."""
DWELL_MOST_S = 1.0
"""No part is given longer at a step."""
SLOW = 1.1
"""A part may be slow whose fine walk down lands so many of the coarser steps above the coarser walk, which then passed
its threshold by a whole step: an armature creeps before it leaves (slow passage of a fold). Behind a coarse walk,
without a middle one, each part may be slow: where coarse steps fall says more than how late it lands."""
HELD_FOR, HELD_S = 3, 0.4
"""It is held a step above its landing for so many dwells; if it leaves there, it is slow, and this is its dwell."""
SLOW_LAG = 0.002
"""By how much a slow part lands late all the same, at most, as a share of nominal: 5 to 23 mV of 12 and 24 V with 0.4 s
at a step, where 0.1 s gave up to 0.12 V (eight virtual designs; not measured on real ones)."""
CREEP_V, CREEP_RATE = 0.006, 0.1
"""Just above pull-in an armature creeps before it closes, so that rising steps land late: by a share of nominal that
grows as the power 2/3 of their rate (slow passage of a fold), at most CREEP_V at CREEP_RATE of nominal a second
(figures of four classes of virtual part, of which one does not creep at all; not measured on real ones)."""
WALKS_DIFFER, WALK_ALONE = 0.003, 0.0045
"""Standard deviation of one walk's threshold as a share of it, before it is seen (assumed); of a part that shows one
walk only: with its friction a part of two in three designs differs by 0.4 %, of one in twenty by 1.3 %."""


@dataclass(frozen=True, slots=True)
class Goal:
    """The change of a pair that ends a staircase.

    up: sought with rising voltage; settle_s: until the current is steady after the armature has moved.
    """

    change: PairChange
    up: bool
    settle_s: float


@dataclass(frozen=True, slots=True)
class Way:
    """Where every walk of a search comes from (`full` magnetises) and how far it may go, in volts."""

    goal: Goal
    full: float
    end: float


@dataclass(slots=True)
class Search:
    """Landings and coil counts of all walks towards one goal. Of the fine ones: stride in DAC counts, dwell in s, and
    time constant of the coil's current as it came down to where they begin, in s. slow: it left while it was held.
    """

    landings: list[Landing]
    points: list[CoilCounts]
    stride: int = 1
    dwell: float = 0.0
    tau_s: float = 0.0
    slow: bool = False


def drop_out(rig: PartOnRig, step: ThresholdsStep, id: str, full: float, start: float) -> Finding:
    """Where the part lets go, coming down from `start` volts after magnetising at `full`."""
    releases = rig.form.releases
    if not happened(releases, rig.rest):  # it does not do so at rest, and so not after a walk either
        releases = rig.form.operates.undone
    goal = Goal(releases, up=False, settle_s=0.06)
    found = search(rig, step, goal, full, start, 0.0)
    if len(found.landings) == 1 and not found.points:
        patient = step.model_copy(update={"coarse_dwell": max(PATIENT_S, step.coarse_dwell)})
        found = search(rig, patient, goal, full, min(3 * step.coarse, start), 0.0)
    shown = conditions(rig, step, goal, full, found.dwell)
    if not found.points:
        least = step.coarse if len(found.landings) == 1 else step.fine
        return bounded(id, "<", least, shown, raw=found.landings)
    amps, raw, makes = threshold(rig, step, goal, found)
    return reading(id, amps * rig.ohm(), shown, raw=raw, makes=makes)


def conditions(rig: PartOnRig, step: ThresholdsStep, goal: Goal, full: float, dwell: float) -> tuple[Condition, ...]:
    """How a threshold was sought."""
    return rig.conditions(
        magnetised_at=f"{full:g} V", ends_at=ends_at(goal.change), steps=f"{step.fine * 1000:.0f} mV",
        dwell=f"{dwell * 1000:.0f} ms", walks=str(step.walks), attitude=ATTITUDE,
    )  # fmt: skip


def search(rig: PartOnRig, step: ThresholdsStep, goal: Goal, full: float, start: float, end: float) -> Search:
    """Ever finer walks from `start` towards `end`; no points when the goal was not reached in one of them."""
    found, way = Search([], [], dwell=step.dwell), Way(goal, full, end)
    _magnetise(rig, way)
    landing = _walk(rig, way, start, end, step.coarse, step.coarse_dwell)
    found.landings.append(landing)
    if not landing.stopped:
        return found
    size = step.coarse
    if step.coarse > MIDDLE_FROM * step.fine:
        size, before = math.sqrt(step.coarse * step.fine), size
        dwell = max(step.coarse_dwell, MIDDLE_DWELL * step.dwell)
        landing, _ = _nearer(rig, way, landing, MARGIN * before, size, dwell)
        found.landings.append(landing)
    found.stride = _stride(rig, step.fine)
    slow = SLOW if size < step.coarse else 0.0
    ahead, dwell = MARGIN * size, step.dwell
    while landing.stopped and len(found.points) < step.walks:
        shift = rig.volts_per_count * (len(found.points) % found.stride)
        coarser = landing
        landing, tau_s = _nearer(rig, way, coarser, ahead + shift, step.fine, dwell)
        found.landings.append(landing)
        if not landing.stopped:
            break
        rig.wait(goal.settle_s)
        point = rig.board.sense_coil()
        first = not found.points and not found.slow
        late = first and not goal.up and (not slow or _risen(rig, coarser, landing) > slow * size)
        ahead = AGAIN * step.fine
        if late and _leaves(rig, way, landing, step.fine, min(HELD_FOR * dwell, HELD_S)):
            found.slow, dwell = True, max(dwell, HELD_S)
            continue
        found.tau_s = max(found.tau_s, tau_s)
        found.points.append(point)
    found.dwell = _patient(dwell, found.tau_s)
    if goal.up and len(found.points) < step.walks:
        moved = f"{goal.change.pair} {goal.change.after} after the coarse steps and not after the fine ones"
        raise CannotTest(f"{moved}: the pull-in is not steady")
    if len(found.points) < step.walks:
        found.points.clear()
        if (reached_v := rig.volts_at(found.landings[-1].dac)) > step.coarse:
            moved = f"{goal.change.pair} {goal.change.after} after the coarse steps and not after the fine ones"
            raise CannotTest(f"{moved}, which ended at {reached_v:.1f} V: the drop-out is not steady")
    return found


def _nearer(
    rig: PartOnRig, way: Way, landing: Landing, ahead: float, size: float, dwell: float
) -> tuple[Landing, float]:
    """A walk in steps of `size` from `ahead` volts before a landing to as much behind it, and the time constant of the
    coil's current as it came down to where the walk begins, s.

    A part that moves before the first step of a walk, or in none, is sought once more from farther away.
    """
    for wider in WIDER:
        out = -wider * ahead if way.goal.up else wider * ahead
        start = min(max(rig.volts_at(landing.dac) + out, 0.0), way.full)
        stop = rig.volts_at(landing.dac) - out
        stop = min(stop, way.end) if way.goal.up else max(stop, way.end)
        _magnetise(rig, way)
        tau_s = 0.0 if way.goal.up else _come_down(rig, way.full, start)
        if not way.goal.up and happened(way.goal.change, rig.contacts()):
            continue
        first = start if way.goal.up else max(start - size, stop)
        found = _walk(rig, way, first, stop, size, _patient(dwell, tau_s))
        stood = found.index > 0 or (not way.goal.up and dwell < HELD_S)
        if (found.stopped and stood) or (not found.stopped and wider > 1):
            return found, tau_s
    change = way.goal.change
    raise CannotTest(f"{change.pair} {change.after} before the first fine step: the threshold is not steady")


def _risen(rig: PartOnRig, before: Landing, after: Landing) -> float:
    """Volts by which a walk landed above another."""
    return rig.volts_at(after.dac) - rig.volts_at(before.dac)


def _leaves(rig: PartOnRig, way: Way, landing: Landing, size: float, seconds: float) -> bool:
    """Whether the part lets go a step above its landing, too, once it is given so much time."""
    _magnetise(rig, way)
    _come_down(rig, way.full, min(rig.volts_at(landing.dac) + size, way.full))
    rig.wait(seconds)
    return happened(way.goal.change, rig.contacts())


def _patient(dwell: float, tau_s: float) -> float:
    """The dwell of a step: that of the protocol, or what flux and armature of this part take, if longer; s."""
    return max(dwell, min(MOTION_S + FOLLOWS * tau_s, DWELL_MOST_S))


def _magnetise(rig: PartOnRig, way: Way) -> None:
    """Full volts, and the coil off before a walk that goes up."""
    rig.magnetise(way.full, MAGNETISE_S)
    if way.goal.up:
        rig.release(ZERO_S)


def _come_down(rig: PartOnRig, full: float, volts: float) -> float:
    """Step down from `full`, wait until the coil's current is steady; the time constant of its last part, s.

    That is the flux's, for the armature stays seated. A walk that begins before the flux has come down lands late.
    """
    begun_s = rig.board.elapsed()
    rig.hold(rig.drive(volts, on_ms=2 * round(1000 * SLOWEST_S)), 0.0)
    looks, at_s = [rig.board.sense_coil().shunt], [rig.board.elapsed()]
    while at_s[-1] - begun_s < SLOWEST_S:
        rig.wait(LOOK_S)
        looks.append(rig.board.sense_coil().shunt)
        at_s.append(rig.board.elapsed())
        if abs(looks[-1] - looks[-2]) <= STEADY * abs(looks[-1]):
            break
    return time_constant(looks[1:], (at_s[-1] - at_s[0]) / (len(looks) - 1))


def time_constant(looks: Sequence[int], every_s: float) -> float:
    """Of a current that falls towards an end that nobody knows, from looks `every_s` apart; 0 where it shows none.

    Three looks as far apart as there are: of the two changes between them, each is by the same factor the smaller one.
    """
    apart = (len(looks) - 1) // 2
    if not apart:
        return 0.0
    first, then = abs(looks[-1 - 2 * apart] - looks[-1 - apart]), abs(looks[-1 - apart] - looks[-1])
    if first < FALLS_COUNTS:
        return 0.0
    return apart * every_s / math.log(max(first / max(then, SEEN_COUNTS), LEAST_FALL))


def _walk(rig: PartOnRig, way: Way, start: float, end: float, size: float, dwell: float) -> Landing:
    """One staircase of coil volts in steps of `size`."""
    first, last, stride = rig.dac_for(start), rig.dac_for(end), _stride(rig, size)
    count = min(max(1, abs(last - first) // stride + 1), DAC_MAX)
    dwell_ms = max(1, min(round(dwell * 1000), (ON_MS_MAX - SPARE_MS) // count))
    drive = rig.drive(start, on_ms=count * dwell_ms + SPARE_MS, limit=rig.trip_limit(max(start, end)))
    up = way.goal.up
    return rig.board.staircase(Stairs(drive, stride if up else -stride, count, dwell_ms, *watched(way.goal.change)))


def _stride(rig: PartOnRig, size: float) -> int:
    """DAC counts of one step: the nearest whole number, as the budget must know."""
    return max(1, round(size / rig.volts_per_count))


def threshold(
    rig: PartOnRig, step: ThresholdsStep, goal: Goal, found: Search
) -> tuple[Any, Sequence[Raw], Sequence[float]]:
    """Coil amps at the threshold with their budget, the raw data, and the single walks in volts.

    The threshold lies between the last two steps, anywhere with equal right: their middle, +- half a step; walks
    that begin at different counts share the step out among them. And it lies nearer to where the walk came from by
    what the part lagged behind the steps, from nothing to `lag_most`.
    """
    counts = [float(p.shunt) for p in found.points]
    bus = fmean(p.bus for p in found.points)
    assumed = (WALKS_DIFFER if len(counts) > 1 else WALK_ALONE) * abs(fmean(counts))
    landed = rig.coil_amps(median_of(counts, "walks", assumed), bus)
    step_a = found.stride * rig.volts_per_count / (rig.coil_ohm or 1.0)
    back = -step_a if goal.up else step_a
    half = rectangular(
        step_a / 2 / math.sqrt(len(counts)), "step size", "the threshold lies within the last step", "steps"
    )
    lag = lag_most(goal.up, found, found.stride * rig.volts_per_count, rig.nominal_v)
    late = rectangular(lag * step_a / 2, "dwell", "the part lags behind the steps", "steps")
    amps = landed + back / 2 + half + back * lag / 2 + late
    volts = [nominal_value(rig.coil_amps(c, bus) + (amps - landed)) * nominal_value(rig.ohm()) for c in counts]
    return amps, [*found.landings, *found.points], volts


def lag_most(up: bool, found: Search, size: float, nominal_v: float) -> float:
    """Steps of `size` volts by which a landing may be late, at most.

    Up: the armature creeps. Down: the flux of the seated core follows with its time constant, and a slow part creeps.
    """
    if up:
        rate = size / found.dwell / (CREEP_RATE * nominal_v)
        return CREEP_V * nominal_v / size * math.pow(rate, 2 / 3)
    q = math.exp(-max(found.dwell - MOTION_S, 0.0) / max(found.tau_s, SEATED_S))
    return q / (1 - q) + found.slow * SLOW_LAG * nominal_v / size
