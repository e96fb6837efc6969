"""When repeated makes are enough: Wald's sequential test of their median against each edge that matters.

The logarithms of the makes are taken as normal, for drops and times scatter in proportion. For each edge, two medians
are distinguished, one a share below it and one as much above it; makes go on until, for every edge, one of the two is
more likely by (1 - RISK) / RISK (A. Wald, Sequential Analysis, 1947: the risk of either error is then at most about
RISK). Their spread is that which they show, pooled with an assumed one, so that few makes that agree by chance do not
end it too early. And they go on while the edge lies within twice the interval of the median that a reading will state:
a screen has to be surer than that (`judge/crate/quick.py`), and a make more is quicker than the full protocol.
"""

import math
import statistics
from collections.abc import Sequence

RISK = 0.005
"""Largest accepted probability that the makes end on the wrong side of an edge."""
APART = 0.25
"""Medians nearer to an edge than this share of it are not distinguished here (assumed)."""
LEAST_MAKES = 2
USUAL_SPREAD, WORTH = 0.1, 3.0
"""Spread of the makes of a sound part as a share, before any was made, and its degrees of freedom (assumed)."""
STUDENT = (13.97, 4.53, 3.31, 2.87, 2.65, 2.52, 2.43, 2.37, 2.32)
"""Factors for 95.45 % with 1, 2, ... degrees of freedom (JCGM 100:2008, table G.2); beyond, the last one."""
SURER = 2.0
"""What a screen decides alone lies so many of its intervals from the edge (assumed)."""
SMALLEST = 1e-7
"""A tenth of a microvolt, or of a microsecond: nothing that is measured here is smaller."""


def enough(makes: Sequence[float], edges: Sequence[float]) -> bool:
    """Whether these makes tell on which side of every edge their median lies. Without an edge the least will do."""
    if len(makes) < LEAST_MAKES:
        return False
    logs = [math.log(max(one, SMALLEST)) for one in makes]
    mean, variance = sum(logs) / len(logs), _variance(logs)
    wanted, apart = math.log((1 - RISK) / RISK), 2 * math.log(1 + APART)
    reach = _reach(makes)
    middle = statistics.median(makes)
    return all(
        abs(mean - math.log(edge)) * apart * len(logs) / variance >= wanted and abs(middle - edge) > SURER * reach
        for edge in edges
    )


def _reach(makes: Sequence[float]) -> float:
    """Half the interval of the median of normal values that their own spread gives, about 95 %."""
    factor = STUDENT[min(len(makes) - 1, len(STUDENT)) - 1]
    return factor * math.sqrt(math.pi / 2 / len(makes)) * statistics.stdev(makes)


def _variance(logs: Sequence[float]) -> float:
    """Of the logarithms, pooled with what was assumed."""
    mean = sum(logs) / len(logs)
    shown = sum((one - mean) ** 2 for one in logs)
    return (WORTH * USUAL_SPREAD**2 + shown) / (WORTH + len(logs) - 1)
