"""When the armature starts and when it strikes, from the coil current alone: no contact is asked.

While the armature rests, the current comes to its end along one exponential. As it moves, its counter-voltage takes
current away; as it strikes, the current turns up again: the dip. A coil whose current shows no dip moves nothing,
unless the contacts say that it does: then start and strike are not known.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from pulldrop.measure.rig.counts import edges
from pulldrop.measure.rig.counts.budget import median_of, rectangular, uncertain
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.model.part.relay import SEEN_BY, RelayForm
from pulldrop.model.raw import TICKS_PER_S, Capture
from pulldrop.model.reading import Condition, Finding, NotTested, amount
from pulldrop.model.steps.motion import MotionStep

WINDOW_MS, DIVIDER = 30, 2
"""A sample every 100 us, 300 of them: the last ones tell where the current ends."""
HOLD_S, REST_S = 0.03, 0.06
"""On after the window, and off before the next make."""
END_SAMPLES = 20
"""So many of the last samples tell the current's end."""
SKIP_SAMPLES = 4
"""The first 0.4 ms belong to supply and eddy currents."""
EARLY = 0.55
"""Up to this share of the time to the top the armature surely rests (the top comes well after the start)."""
DIP_LEAST, DIP_COUNTS = 0.03, 5.0
"""A fall of less than this share of the end current, or of so many counts of the converter, is no dip."""
FIRST, SECOND = 0.02, 0.10
"""The current's shortfall, as shares of its end, from which the start is found."""
BACK = 1.0
"""The start lies this many times the way from FIRST to SECOND before FIRST: a shortfall that grows with about the
third power of time (calculated with the lumped relay model, four classes of part)."""
U_START_S, U_SEAT_S = 0.15e-3, 0.15e-3
"""Standard uncertainties of that rule, and of the dip's bottom as the moment of striking (against the same model)."""
LEAST_A = 0.005
"""With less end current there is no curve to read."""


@dataclass(frozen=True, slots=True)
class ArmatureTimes:
    """One make in seconds after the step: the armature starts, and it strikes."""

    start_s: float
    seat_s: float


def procedure(rig: PartOnRig, step: MotionStep) -> Iterator[Finding]:
    """armature_start_time, armature_seat_time."""
    rig.release(REST_S)
    makes: list[Capture] = []
    for _ in range(step.makes):
        makes.append(rig.board.step_coil(rig.drive(step.coil), WINDOW_MS, DIVIDER))
        rig.wait(HOLD_S)
        rig.release(REST_S)
    at = rig.conditions(coil_voltage=amount(step.coil, "V"), makes=str(step.makes), method="dip of the coil current")
    found = [moved(c) for c in makes]
    seen = [m for m in found if m is not None]
    if all(_operates(rig.form, c) for c, m in zip(makes, found, strict=True) if m is None):
        hidden = len(makes) - len(seen)
        why = f"no dip of the current seen in {hidden} of {len(makes)} makes, though the contacts operate in each"
        for id in ("armature_start_time", "armature_seat_time") if hidden else ():
            yield NotTested(id=id, reason=f"{why}: some designs show next to none", because="not shown")
        if hidden:
            return
    if not seen:
        yield from _no_dip(rig, makes, at)
        return
    if len(seen) < len(makes):
        for id in ("armature_start_time", "armature_seat_time"):
            reason = f"no dip in {len(makes) - len(seen)} of {len(makes)} makes: it does not move every time"
            yield NotTested(id=id, reason=reason)
        return
    for id, times, u, why in (
        ("armature_start_time", [m.start_s for m in seen], U_START_S, "where the current leaves its course"),
        ("armature_seat_time", [m.seat_s for m in seen], U_SEAT_S, "bottom of the dip"),
    ):
        rule = uncertain(0.0, u, "dip", why + ", against a model of the relay")
        raster = rectangular(DIVIDER * 25e-6, "sampling", "a sample every 100 us")
        value = rig.scales.tick.one * median_of(times, "makes") + rule + raster
        yield reading(id, value, at, raw=makes, makes=times)


def _operates(form: RelayForm, make: Capture) -> bool:
    """Whether a contact says that the armature moved, and for good."""
    operates = form.operates
    return edges.change(make, SEEN_BY[operates.pair], operates.closes) is not None


def _no_dip(rig: PartOnRig, makes: Sequence[Capture], at: tuple[Condition, ...]) -> Iterator[Finding]:
    """Nothing moved within the window; with next to no current there is nothing to see."""
    if max(rig.amps_per_count * end_of(c) for c in makes) < LEAST_A:
        for id in ("armature_start_time", "armature_seat_time"):
            yield NotTested(id=id, reason="the coil takes too little current to see motion in it")
        return
    for id in ("armature_start_time", "armature_seat_time"):
        yield bounded(id, ">", WINDOW_MS / 1000, at, raw=makes)


def end_of(capture: Capture) -> float:
    """Counts that the current comes to."""
    last = capture.samples[-END_SAMPLES:]
    return sum(last) / len(last)


def moved(capture: Capture) -> ArmatureTimes | None:
    """Start and strike of one make; None without a dip. Pure arithmetic on the samples."""
    samples, end = _smooth(capture.samples), end_of(capture)
    top, fallen = _top_and_fall(samples, max(DIP_LEAST * end, DIP_COUNTS))
    if fallen is None:
        return None
    bottom = fallen
    while bottom + 1 < len(samples) and samples[bottom + 1] <= samples[bottom]:
        bottom += 1
    sample_s = capture.sample_ticks / TICKS_PER_S
    start = _start(samples, end, top, bottom)
    return ArmatureTimes(start * sample_s, bottom * sample_s)


def _top_and_fall(samples: Sequence[float], least: float) -> tuple[int, int | None]:
    """Place of the top, and where the current has first fallen by `least` from it."""
    top = 0
    for place, value in enumerate(samples):
        if value > samples[top]:
            top = place
        elif samples[top] - value > least:
            return top, place
    return top, None


def _start(samples: Sequence[float], end: float, top: int, bottom: int) -> float:
    """Where the current began to leave its exponential course, in samples; not after the top."""
    last = max(round(EARLY * top), SKIP_SAMPLES + 4)
    course = _course(samples[SKIP_SAMPLES:last], end)
    short = [(end - math.exp(course(place)) - value) / end for place, value in enumerate(samples[: bottom + 1])]
    first, second = _crossing(short, FIRST, last), _crossing(short, SECOND, last)
    if first is None or second is None:
        return float(top)
    return min(max(first - BACK * (second - first), 0.0), float(top))


def _course(early: Sequence[float], end: float) -> Callable[[int], float]:
    """The straight line of log(end - current) over the early samples, as a function of the place."""
    points = [(n + SKIP_SAMPLES, math.log(end - v)) for n, v in enumerate(early) if v < 0.98 * end]
    if len(points) < 2:
        return lambda place: math.log(end)
    mean_x, mean_y = (sum(p[i] for p in points) / len(points) for i in (0, 1))
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / sum((x - mean_x) ** 2 for x, _ in points)
    return lambda place: min(mean_y + slope * (place - mean_x), math.log(2 * end))


def _crossing(values: Sequence[float], level: float, since: int) -> float | None:
    """Where the values first rise through a level, at or after `since`, between samples."""
    for place in range(since, len(values) - 1):
        if values[place] < level <= values[place + 1]:
            return place + (level - values[place]) / (values[place + 1] - values[place])
    return None


def _smooth(samples: Sequence[int]) -> list[float]:
    """Each sample with a quarter of both neighbours, against the converter's noise."""
    inner = [0.25 * a + 0.5 * b + 0.25 * c for a, b, c in zip(samples, samples[1:], samples[2:], strict=False)]
    return [float(samples[0]), *inner, float(samples[-1])]
