"""The view of all parts together; each line names what it rests on."""

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from pulldrop.model.origin import OfMany
from pulldrop.model.raw import Frozen

FROM_LINES = (
    "Estimated from straight lines through all readings of each part, without the uncertainty of each reading, its"
    " load, or a cleaning between; pulldrop health PART shows more."
)
"""What a fleet that rests on straight lines says of itself."""


class Group(Frozen):
    """Parts of one type, position or donor. `share_a_year`: of the way to the limit, the mean of its parts; `wearing`:
    how many have a trend towards a limit that is not decades away; `by`: the measurement that leads most of them."""

    grouping: str
    name: str
    parts: int
    wearing: int
    share_a_year: float
    by: str


class Due(Frozen):
    """A part to be tested or exchanged, and why; `soonest` in years, below zero when it is overdue."""

    part: str
    place: str
    last: datetime
    soonest: float
    reasons: tuple[str, ...]


class Outlier(Frozen):
    """A last reading outside those of the siblings.

    `usual`: their median, and `score` in robust standard deviations; their mean and plain standard deviations in a
    fleet that rests on straight lines.
    """

    part: str
    type: str
    measurement: str
    value: float
    usual: float
    score: float
    siblings: int
    says: str


class Capability(Frozen):
    """Cpk of one measurement over the parts of a type: below 1 some of such parts are beyond the limit."""

    type: str
    measurement: str
    title: str
    parts: int
    cpk: float


class Fleet(OfMany):
    """`groups` of each grouping fastest first, `due` soonest first, `outliers` farthest first, `capabilities` tightest.

    `rests_on`: whole histories, or for many parts straight lines, see FROM_LINES. `left_out`: how many more each list
    would have, by its name (due, outliers, capabilities, or a grouping), where it was cut; `simulated`: how many parts
    are left out, because there are real ones.
    """

    now: datetime
    parts: int
    every_months: float
    rests_on: Literal["histories", "straight lines"] = "histories"
    groups: tuple[Group, ...]
    due: tuple[Due, ...]
    outliers: tuple[Outlier, ...]
    capabilities: tuple[Capability, ...]
    left_out: Mapping[str, int] = {}

    @property
    def without(self) -> str:
        """A sentence on the simulated parts that are left out; empty where none is."""
        count = self.left_out.get("simulated", 0)
        if count < 2:
            return "1 simulated part is left out." if count else ""
        return f"{count} simulated parts are left out."
