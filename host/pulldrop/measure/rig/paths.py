"""One pair of terminals at a few mA: its ohms by the terminal scan, of a throw at rest and of the coil both ways.

Rule: where too little current flows for ohms, the least that the pair has is given.
"""

from dataclasses import dataclass
from typing import Any

from pulldrop.measure.rig.counts.budget import nominal_value, uncertain
from pulldrop.measure.rig.counts.channels import LOW_SIDE_OHM
from pulldrop.measure.rig.scan_read import Eyes, Sight
from pulldrop.model.raw import Line, ScanCounts

OPEN_OHM = 10_000.0
"""Above this a coil is open, or only a resistor across it is left (common practice)."""
CLOSED_OHM = 800.0
"""Below this a throw counts as closed, as it does for the dry sources of a full build."""
ONE_WAY = 0.05
"""Two polarities that differ by more than this, and by more than their uncertainty, are a diode's work."""
LEAST_A = 20e-6
"""Less current than this gives a bound."""


@dataclass(frozen=True, slots=True)
class Path:
    """One pair in one polarity: ohms with budget, or None and the least that it has."""

    ohm: Any
    least_ohm: float
    amps: float
    counts: tuple[ScanCounts, ...]


def resting(eyes: Eyes, terminal: Line) -> Path:
    """A throw of the part at rest, against terminal 30."""
    if not eyes.bare:
        zero = eyes.look(Line.NONE, Line.T30, terminal)
        lit = eyes.look(terminal, Line.T30)
        looked = sum(one.look for one in zero.counts) / len(zero.counts)
        return path(lit.source_v - eyes.volts(looked), lit.source_a, lit)
    there, back = eyes.look(terminal, Line.T30), eyes.look(Line.T30, terminal)
    volts, amps = (there.across_v + back.across_v) / 2, (_mean_a(there) + _mean_a(back)) / 2
    return path(volts, amps, there, back)


def path(volts: Any, amps: Any, *sights: Sight) -> Path:
    """Ohms where enough current flows, else what it has at least."""
    counts = tuple(one for sight in sights for one in sight.counts)
    most_a = max(nominal_value(amps) + 2 * amps.std_dev, 1e-9)
    least = max(nominal_value(volts), 0.0) / most_a
    known = nominal_value(amps) > max(LEAST_A, 4 * amps.std_dev)
    return Path(volts / amps if known else None, least, nominal_value(amps), counts)


def coil_paths(eyes: Eyes) -> tuple[Path, Path]:
    """The coil from 86 to 85 and from 85 to 86."""
    there, back = eyes.look(Line.T86, Line.T85), eyes.look(Line.T85, Line.T86)
    if eyes.bare:
        return path(there.across_v, _mean_a(there), there), path(back.across_v, _mean_a(back), back)
    beside_ohm = LOW_SIDE_OHM * (1 + uncertain(0.0, 0.01, "R22", "divider of the low side, 1 %"))
    through = path(there.across_v, there.sink_a + there.sink_v / beside_ohm, there)
    return through, path(back.across_v, back.source_a - back.source_v / beside_ohm, back)


def _mean_a(sight: Sight) -> Any:
    return (sight.source_a + sight.sink_a) / 2
