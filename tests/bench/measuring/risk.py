"""Consumer's and producer's risk of a guard band over a whole lot of parts (JCGM 106:2012, 9.5).

The lot's values are normal, and so are the errors of measurement; the two are independent.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

REACH, STEPS = 8.0, 2000
"""The lot is summed over this many standard deviations on either side, in so many steps (trapezoids)."""


@dataclass(frozen=True, slots=True)
class Risk:
    """Of all parts: those accepted though they do not conform (consumer), and rejected though they do (producer)."""

    consumer: float
    producer: float


def global_risk(
    mean: float, spread: float, u: float, *,
    low: float = -math.inf, high: float = math.inf,
    accept_low: float = -math.inf, accept_high: float = math.inf,
) -> Risk:  # fmt: skip
    """Risks of a lot N(mean, spread) measured with standard uncertainty `u`, for limits and acceptance limits."""
    lot = NormalDist()
    consumer = producer = 0.0
    width = 2 * REACH / STEPS
    for index in range(STEPS + 1):
        z = -REACH + index * width
        true = mean + z * spread
        accepted = lot.cdf((accept_high - true) / u) - lot.cdf((accept_low - true) / u)
        weight = lot.pdf(z) * width
        inside = _inside(true, low, high, spread * width)
        consumer += (1 - inside) * accepted * weight
        producer += inside * (1 - accepted) * weight
    return Risk(consumer, producer)


def _inside(true: float, low: float, high: float, width: float) -> float:
    """Which part of a step of `width` around `true` conforms: a limit may lie within the step."""
    below, above = max(true - width / 2, low), min(true + width / 2, high)
    return min(max((above - below) / width, 0.0), 1.0)
