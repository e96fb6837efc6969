"""What a quick screen may not decide alone: too near a limit, or not as sure as the full protocol will want to be.

Rule: where a screen says pass or fail, the full protocol with its more makes has to say the same; doubt goes to it.
"""

from collections.abc import Sequence

from pulldrop.judge.decide import RISK, conformance
from pulldrop.model.limit import Limit
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Judged, Outcome

NEAR = 0.02
NEAR_WALKED = {"pull_in_voltage_20c": 0.06, "drop_out_voltage": 0.2}
"""Nearer to a limit than this share of it the full protocol decides: it finds the coil warmer. Thresholds the screen
finds by one walk: a part with friction in its hinge scatters by about as much from walk to walk, and near 1 V, where
the flux is slow to follow, a short dwell reads drop-out up to one step of 200 mV too low (0.16 V was seen)."""
SURE = RISK / 5
"""Five times as sure as the full protocol: a screen's few makes tell little of how the part scatters (assumed). Not
more: far from every limit the sum behind `conformance` is good to 0.002."""


def doubtful(reading: Reading, limit: Limit) -> bool:
    """Whether a screen cannot tell on which side of a limit a reading lies."""
    if reading.value is None or reading.bound != "=" or limit.state is not None:
        return False
    near = NEAR_WALKED.get(reading.id, NEAR)
    if any(abs(reading.value - edge) < near * edge for edge in (limit.low, limit.high) if edge):
        return True
    return SURE < conformance(reading.value, reading.spread, limit.low, limit.high) < 1 - SURE


def doubted(judged: Sequence[Judged]) -> list[Judged]:
    """The same, unsure where a screen may not decide."""
    return [
        one.model_copy(update={"outcome": Outcome.UNSURE})
        if one.limit and isinstance(one.finding, Reading) and doubtful(one.finding, one.limit)
        else one
        for one in judged
    ]
