"""Insulation: what flows between terminals that nothing should join, in both polarities where the build can.

Full build: 5 V through 1.2 kohm on 87. The coil's side is seen as current into 86, terminal 30 as current out of the
source; the latter needs the load supply, without which the load switches' own diodes take 0.3 mA.
Bare build: one terminal pulled up by its pin's 20 to 50 kohm, the other low, everything else open.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pulldrop.measure.rig.counts.budget import nominal_value, rectangular, terms, uncertain
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.paths import CLOSED_OHM, path, resting
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.measure.rig.scan_read import (
    BARE_FULL,
    BARE_V,
    COIL_PLUS_OHM,
    PULL_UP_LEAST_OHM,
    SINK_PATH_OHM,
    Eyes,
    Sight,
)
from pulldrop.model.part.relay import NC, TERMINALS
from pulldrop.model.raw import Line, ScanCounts
from pulldrop.model.reading import Finding, NotTested
from pulldrop.model.steps.looks.leakage import LeakageStep

SEEN = 4.0
"""Standard uncertainties that a current must have to be read as ohms, within 50 % (k = 2): with less, the ohms reach
from far below to infinity, and what is sure of them is a bound."""
POLARITY = 0.05
"""Two polarities that differ by more than this share, and by more than the uncertainty, point to water."""
CLOSED = "87 is closed to 30 at rest"


@dataclass(frozen=True, slots=True)
class LeakPath:
    """One pair in one polarity: volts across, amps through it with budget, the smallest amps that can be measured."""

    source: Line
    sink: Line
    volts: float
    amps: Any
    finest_a: float
    counts: tuple[ScanCounts, ...]

    @property
    def least_ohm(self) -> float:
        """What the pair has at least."""
        return self.volts / (max(nominal_value(self.amps), 0.0) + 2 * float(self.amps.std_dev))

    @property
    def seen(self) -> bool:
        """More current than the arrangement might show by itself."""
        return bool(nominal_value(self.amps) > SEEN * self.amps.std_dev)

    @property
    def title(self) -> str:
        """Which way round."""
        return f"{TERMINALS[self.source]} to {TERMINALS[self.sink]}"


def procedure(rig: PartOnRig, step: LeakageStep) -> Iterator[Finding]:
    """leakage_open_contact and leakage_coil_contact."""
    eyes = Eyes(rig.board, step.looks)
    lit = None if eyes.bare else eyes.look(Line.T87, Line.T30)
    seen = path(lit.source_v, lit.source_a, lit) if lit else resting(eyes, Line.T87)
    closed = seen.ohm is not None and nominal_value(seen.ohm) < CLOSED_OHM
    if closed and lit:
        for id in step.gives:
            yield NotTested(id=id, reason=f"{CLOSED}, and the bench has 30 at ground")
        return
    coil = _coil_contact(eyes, NC in rig.form.pairs)
    if closed:
        yield NotTested(id="leakage_open_contact", reason=f"{CLOSED}, so that no contact is open")
    elif lit and not rig.has_load():
        reason = "with the load supply off the bench itself draws 0.3 mA from 87: switch it on"
        yield NotTested(id="leakage_open_contact", reason=reason, because="no load supply")
    else:
        yield _worst(rig, "leakage_open_contact", _open_contact(eyes, lit, NC in rig.form.pairs, coil[0]))
    yield _worst(rig, "leakage_coil_contact", coil)


def _open_contact(eyes: Eyes, lit: Sight | None, has_nc: bool, into_coil: LeakPath) -> list[LeakPath]:
    """87 against what 30 is joined to, `lit` on a full build: what goes `into_coil` comes out of the source as well."""
    if lit is None:
        others = (Line.T30, Line.T87A) if has_nc else (Line.T30,)
        return [leak for other in others for leak in _both_ways(eyes, Line.T87, other)]
    dark = eyes.look(Line.NONE, Line.T30)
    rest = rectangular(0.3e-6, "bench", "switches, clamps and converter inputs at 87, from their sheets")
    amps = lit.source_a - dark.source_a + rest
    if into_coil.seen:
        amps = amps - into_coil.amps
    return [LeakPath(Line.T87, Line.T30, nominal_value(lit.source_v), amps, _finest(dark.source_a, rest), lit.counts)]


def _coil_contact(eyes: Eyes, has_nc: bool) -> list[LeakPath]:
    """Coil to every contact terminal; on a full build to 87 alone, because 30 is ground there."""
    if eyes.bare:
        others = (Line.T30, Line.T87, Line.T87A) if has_nc else (Line.T30, Line.T87)
        return [leak for other in others for leak in _both_ways(eyes, Line.T86, other)]
    lit, dark = eyes.look(Line.T87, Line.T86), eyes.look(Line.T87, Line.NONE)
    rest = rectangular(0.1e-6, "multiplexer", "74HC4051: 0.1 uA at 25 degC, data sheet")
    beside = 1 + SINK_PATH_OHM / COIL_PLUS_OHM * (
        1 + uncertain(0.0, 0.05, "beside the sink", "what 86 gives to ground")
    )
    amps, finest_a = (lit.sink_a - dark.sink_a + rest) * beside, nominal_value(beside) * _finest(dark.sink_a, rest)
    return [LeakPath(Line.T87, Line.T86, nominal_value(lit.across_v), amps, finest_a, lit.counts)]


def _finest(dark_a: Any, rest_a: Any) -> float:
    """SEEN times the standard uncertainty of a difference of two looks without current; what they share cancels."""
    own = [term.u for term in terms(dark_a) if term.name in ("scan driven", "scan sunk")]
    return SEEN * math.hypot(*(math.sqrt(2) * u for u in own), rest_a.std_dev)


def _both_ways(eyes: Eyes, one: Line, other: Line) -> list[LeakPath]:
    return [_weakly(eyes, one, other), _weakly(eyes, other, one)]


def _weakly(eyes: Eyes, source: Line, sink: Line) -> LeakPath:
    """The source pulled up; how far it comes down when the other is low."""
    dark, lit = eyes.look(source, Line.NONE, weak=True), eyes.look(source, sink, weak=True)
    down = (
        dark.source_v
        - lit.source_v
        + rectangular(16 / BARE_FULL * BARE_V, "end of range", "the converter's last count is also what lies above it")
    )
    finest_a = SEEN * float(down.std_dev) / PULL_UP_LEAST_OHM
    return LeakPath(source, sink, nominal_value(lit.across_v), down / eyes.pull_up_ohm, finest_a, lit.counts)


def _worst(rig: PartOnRig, id: str, leaks: list[LeakPath]) -> Finding:
    """The leakiest pair: its ohms, or a bound when it has more than can be measured."""
    worst = min(leaks, key=lambda leak: leak.least_ohm)
    shown = rig.conditions(
        pairs=", ".join(leak.title for leak in leaks), worst=f"{worst.title}, {worst.volts:.1f} V",
        smallest_current=f"{1e6 * worst.finest_a:.1g} uA can be seen", polarity=_polarity(leaks),
    )  # fmt: skip
    raw = [one for leak in leaks for one in leak.counts[:1]]
    if not worst.seen:
        return bounded(id, ">", worst.least_ohm, shown, raw=raw)
    return reading(id, worst.volts / worst.amps, shown, raw=raw)


def _polarity(leaks: list[LeakPath]) -> str:
    """Whether the two ways round of the same pair differ."""
    for there, back in zip(leaks[::2], leaks[1::2], strict=False):
        apart, most = there.amps - back.amps, max(nominal_value(there.amps), nominal_value(back.amps))
        told = abs(nominal_value(apart)) > max(2 * apart.std_dev, POLARITY * most)
        if there.seen and back.seen and told:
            return f"{there.title} and back differ: rather water than a track"
    return "one way round only" if len(leaks) == 1 else "no difference seen"
