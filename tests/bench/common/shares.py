"""The exact interval of a share: what k of n leave open of it, after Clopper and Pearson (Biometrika 26, 1934, 404)."""

import math
from collections.abc import Callable
from functools import lru_cache

TAIL = 0.025
"""Beyond either end of the 95 % interval."""
HALVINGS = 50


@lru_cache(maxsize=4096)
def interval(k: int, n: int) -> tuple[float, float]:
    """The two-sided 95 % interval of the share of which `k` of `n` were seen; the whole of 0 to 1 for none of none."""
    low = _crossing(lambda p: at_least(k, n, p) < TAIL) if k else 0.0
    high = _crossing(lambda p: 1 - at_least(k + 1, n, p) > TAIL) if k < n else 1.0
    return low, high


def can_be_shown(n: int, low: float | None, high: float | None) -> bool:
    """Whether any outcome of `n` has an interval that lies within `low` to `high`."""
    first, beyond = 0, n + 1
    while low is not None and first < beyond:  # the least k whose interval is not below `low`
        middle = (first + beyond) // 2
        first, beyond = (first, middle) if interval(middle, n)[0] >= low else (middle + 1, beyond)
    return first <= n and (high is None or interval(first, n)[1] <= high)


def at_least(k: int, n: int, p: float) -> float:
    """Probability of `k` or more of `n`, each with probability `p` strictly between 0 and 1."""
    if k <= 0 or k > n:
        return float(k <= 0)
    upward = k > n * p
    term = math.exp(_log_of(k if upward else k - 1, n, p))
    total, ratio, i = term, p / (1 - p), k if upward else k - 1
    while term > 1e-18 * total and (i < n if upward else i > 0):  # away from the most probable count, so terms shrink
        term *= (n - i) / (i + 1) * ratio if upward else i / (n - i + 1) / ratio
        i += 1 if upward else -1
        total += term
    return total if upward else 1 - total


def _log_of(k: int, n: int, p: float) -> float:
    ways = math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
    return ways + k * math.log(p) + (n - k) * math.log1p(-p)


def _crossing(below: Callable[[float], bool]) -> float:
    """Where `below` turns from true to false, between 0 and 1."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if below(middle) else (low, middle)
    return high
