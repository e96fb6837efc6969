"""Whether the winding is as warm as the bench: its ohms before and after a rest, in which the room alone warms it.

A part that came in from a cold yard warms by some kelvin a minute; all that is brought to 20 degC is off by as much as
its winding is off the bench, and no other reading of a run shows it. The step comes early: what the test itself warms
cools again. What the looks warm is seen by a second look with the coil still on.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pulldrop.measure.rig.counts.copper import INFERRED_ZERO_C
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import reading
from pulldrop.model.raw import CoilCounts
from pulldrop.model.reading import Finding
from pulldrop.model.steps.coil.drift import DriftStep

ON_S, WARM_S = 0.1, 0.3
"""On until the coil's current is steady; on between the two looks that show how quickly it warms itself."""
LOOKS = 6


@dataclass(frozen=True, slots=True)
class Look:
    """The coil's ohms, the mean of some readings; their counts; when they began and ended."""

    ohm: Any
    counts: list[CoilCounts]
    begun_s: float
    ended_s: float

    @property
    def at_s(self) -> float:
        """The middle of it."""
        return (self.begun_s + self.ended_s) / 2


def procedure(rig: PartOnRig, step: DriftStep) -> Iterator[Finding]:
    """winding_drift."""
    rig.energise(rig.nominal_v, ON_S)
    first = _look(rig)
    rig.wait(WARM_S)
    before = _look(rig)
    rig.off()
    rig.wait(step.rest)
    on_s = rig.board.elapsed()
    rig.energise(rig.nominal_v, ON_S)
    after = _look(rig)
    rig.off()
    self_heated_s = before.ended_s - before.at_s + after.at_s - on_s
    own = (before.ohm / first.ohm - 1) * (self_heated_s / (before.at_s - first.at_s))
    rise = (after.ohm / before.ohm - 1 - own) * (INFERRED_ZERO_C + rig.temperature())
    raw = [*first.counts, *before.counts, *after.counts]
    yield reading(
        "winding_drift", rise * (60 / (after.at_s - before.at_s)), rig.conditions(rest=f"{step.rest:g} s"), raw
    )


def _look(rig: PartOnRig) -> Look:
    begun_s = rig.board.elapsed()
    points = [rig.sense() for _ in range(LOOKS)]
    ohm = sum(point.volts / point.amps for point in points) / LOOKS
    return Look(ohm, [point.counts for point in points], begun_s, rig.board.elapsed())
