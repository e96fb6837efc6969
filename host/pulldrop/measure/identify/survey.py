"""Every pair of terminals at a few mA, in both polarities where the build can: what conducts to what.

Rule: on a full build 30 is ground and 86 is loaded by the coil supply; what flows there through 86 is not taken for a
path of its own.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice, permutations
from typing import Any

from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.counts.channels import LOW_SIDE_OHM
from pulldrop.measure.rig.paths import CLOSED_OHM, OPEN_OHM, Path, path
from pulldrop.measure.rig.scan_read import COIL_PLUS_OHM, Eyes
from pulldrop.model.part.relay import TERMINALS
from pulldrop.model.raw import Line

D10_V = 0.5
"""From here on D10 takes current from 86 as well."""
GROUNDED_V = 0.15
"""86 driven through 1.2 kohm stands at 1 V; below this something joins it to ground."""
LEAST_A = 60e-6
"""What the bench's own pull-ups send into a terminal is a third of it."""
PULL_UP_OHM = 247e3
LOADS_OHM = {Line.T85: LOW_SIDE_OHM, Line.T86: COIL_PLUS_OHM, Line.T87: PULL_UP_OHM, Line.T87A: PULL_UP_OHM}
"""What else of the full bench hangs on each terminal; on 87 and 87a the edge pin's 27 and 220 kohm to 5 V."""


@dataclass(frozen=True, slots=True)
class SurveyedPair:
    """One pair in one polarity, by the socket's numbers. `ohm` None: it conducts nothing to speak of."""

    source: str
    sink: str
    ohm: float | None
    expanded_ohm: float
    volts: float
    amps: float


@dataclass(frozen=True, slots=True)
class Survey:
    """All pairs that could be looked at, and the build that did."""

    bare: bool
    pairs: Mapping[tuple[str, str], SurveyedPair]

    def closed(self, one: str, other: str) -> bool:
        """Whether they conduct as a closed contact does."""
        found = (self.at(one, other), self.at(other, one))
        return any(pair is not None and pair.ohm is not None and pair.ohm < CLOSED_OHM for pair in found)

    def at(self, source: str, sink: str) -> SurveyedPair | None:
        """One pair in one polarity; None where this build cannot look."""
        return self.pairs.get((source, sink))

    @property
    def seen(self) -> tuple[str, ...]:
        """Terminals that conduct to another one."""
        found = {end for pair in self.pairs.values() if pair.ohm is not None for end in (pair.source, pair.sink)}
        return tuple(name for name in TERMINALS.values() if name in found)


class Surveyor:
    """Looks at all pairs, a few at a time."""

    def __init__(self, eyes: Eyes) -> None:
        self._bare, self._left = eyes.bare, _pairs(eyes)
        self._found: dict[tuple[str, str], SurveyedPair] = {}

    def look(self, pairs: int | None = None) -> None:
        """At the next so many pairs, or at all that are left."""
        self._found |= {(one.source, one.sink): one for one in islice(self._left, pairs)}

    def survey(self) -> Survey:
        """What all pairs are, those included that were not looked at yet."""
        self.look()
        found = self._found
        through_86 = (
            {} if self._bare else {TERMINALS[line] for line in LOADS_OHM if _conducts(found, TERMINALS[line], "86")}
        )
        return Survey(self._bare, {at: one for at, one in found.items() if not (at[1] == "30" and at[0] in through_86)})


def _conducts(found: Mapping[tuple[str, str], SurveyedPair], one: str, other: str) -> bool:
    return any(at in found and found[at].ohm is not None for at in ((one, other), (other, one)))


def _pairs(eyes: Eyes) -> Iterator[SurveyedPair]:
    for source, sink in permutations(TERMINALS, 2):
        if source is Line.T30 and not eyes.bare:
            continue
        one = _bare(eyes, source, sink) if eyes.bare else _full(eyes, source, sink)
        known = one.ohm is not None and one.amps > LEAST_A and nominal_value(one.ohm) < OPEN_OHM
        yield SurveyedPair(
            source=TERMINALS[source],
            sink=TERMINALS[sink],
            ohm=nominal_value(one.ohm) if known else None,
            expanded_ohm=2 * one.ohm.std_dev if known else 0.0,
            volts=one.amps * nominal_value(one.ohm) if known else 0.0,
            amps=one.amps,
        )


def _bare(eyes: Eyes, source: Line, sink: Line) -> Path:
    sight = eyes.look(source, sink, times=1)
    return path(sight.across_v, (sight.source_a + sight.sink_a) / 2, sight)


def _full(eyes: Eyes, source: Line, sink: Line) -> Path:
    sight = eyes.look(source, sink, times=1)
    return path(sight.across_v, _through(sight, source, sink), sight)


def _through(sight: Any, source: Line, sink: Line) -> Any:
    """Amps from terminal to terminal: what the bench itself takes at either end does not count."""
    sink_v, source_v = nominal_value(sight.sink_v) if sink is not Line.T30 else 0.0, nominal_value(sight.source_v)
    if source is Line.T86 and sink is Line.T30:
        return sight.source_a * (1.0 if source_v < GROUNDED_V else 0.0)
    if sink is Line.T30 or (sink is Line.T86 and sink_v > D10_V):
        return sight.source_a - sight.source_v / LOADS_OHM[source]
    return sight.sink_a + sight.sink_v / LOADS_OHM[sink]
