"""When an armature starts and when it strikes, from the coil current of one make; pure arithmetic on its samples.

While the armature rests, the current comes to its end along one exponential. As it moves, its counter-voltage takes
current away; as it strikes, the current turns up again: the dip.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pulldrop.model.raw import TICKS_PER_S, Capture

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


@dataclass(frozen=True, slots=True)
class ArmatureTimes:
    """One make in seconds after the step: the armature starts, and it strikes."""

    start_s: float
    seat_s: float


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
