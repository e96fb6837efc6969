"""A part among its siblings: which reading lies outside theirs, robustly and with its uncertainty."""

import math
import statistics
from collections.abc import Mapping
from dataclasses import dataclass

LEAST = 5
"""Fewer siblings have no usual value."""
OUTSIDE = 3.5
"""From here on a value is called outside (B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers, 1993)."""
NORMAL_MAD = 1.4826
"""Times the median deviation it is the standard deviation of a normal lot."""


@dataclass(frozen=True, slots=True)
class Apart:
    """`score`: how many standard deviations of the lot, the reading's own uncertainty in it, a part is away."""

    part: str
    value: float
    median: float
    score: float


def apart(values: Mapping[str, tuple[float, float]]) -> tuple[Apart, ...]:
    """Parts outside their siblings, the farthest first. `values`: by part, value and standard uncertainty."""
    if len(values) < LEAST:
        return ()
    middle = statistics.median(value for value, _ in values.values())
    lot = NORMAL_MAD * statistics.median(abs(value - middle) for value, _ in values.values())
    found = []
    for part, (value, u) in values.items():
        width = math.hypot(lot, u)
        score = (value - middle) / width if width else 0.0
        if abs(score) > OUTSIDE:
            found.append(Apart(part, value, middle, score))
    return tuple(sorted(found, key=lambda one: -abs(one.score)))
