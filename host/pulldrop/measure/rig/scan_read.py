"""From the counts of a terminal scan to volts and amps with budgets, for the full and for the bare build.

Rule: what two looks share, such as one resistor, is one cause, so that it cancels where it must. Values are those of
hardware/circuit.yaml and hardware/bare-board.md; nobody calibrates them, so that their makers' limits stand.
"""

import math
from dataclasses import dataclass
from typing import Any

from pulldrop.board.contract import Board
from pulldrop.board.request_types import Scan
from pulldrop.measure.rig.counts.budget import rectangular, uncertain
from pulldrop.measure.rig.counts.channels import DRIVEN_V, END_OHM, FULL_SCALE, LOOK_V, SUM, SUNK_V
from pulldrop.model.raw import Line, ScanCounts

LOOKS, BARE_LOOKS = 4, 2
"""Times that a pair is looked at; the mean is taken. A look of a bare board is a mean of 16 already."""
LINE_OHM, SINK_PATH_OHM = 1000.0, 1180.0
"""The resistor in each line; the way from a terminal to ground, with the multiplexer's 80 ohm and the end's 100."""
COIL_PLUS_OHM = 1973.0
"""What else of the full bench hangs on 86, everything off (below 0.5 V: then nothing else conducts)."""
BARE_OHM = {Line.T85: 220.0, Line.T86: 220.0, Line.T87: 470.0, Line.T87A: 470.0, Line.T30: 470.0}
PIN_OHM, PULL_UP_OHM, PULL_UP_LEAST_OHM = 25.0, 35e3, 20e3
"""A bare board's resistor in each line, its pin that is driven, and the pull-up of one (ATmega328P data sheet)."""
BARE_V, BARE_FULL = 5.0, SUM * 1024
BARE_HALF_COUNT = 8
"""A conversion rounds down: half a count on average, in a sum of 16."""


@dataclass(frozen=True, slots=True)
class Sight:
    """Two terminals as looked at: volts against ground, amps out of the source and into the sink, each with budget."""

    source_v: Any
    sink_v: Any
    source_a: Any
    sink_a: Any
    counts: tuple[ScanCounts, ...]

    @property
    def across_v(self) -> Any:
        """Volts from source to sink."""
        return self.source_v - self.sink_v


def _zero(full_v: float) -> Any:
    """Counts of one range at 0 V: its maker's 3 counts at 2.048 V are taken, in volts, for the finer ranges too."""
    return rectangular(3 * max(2.048 / full_v, 1.0), f"scan zero at {full_v:g} V", "ADS1115: 3 counts at 2.048 V")


def _scatter(looks: int, name: str) -> Any:
    """Counts by which the mean of some looks scatters: one by noise (at 860 samples a second), and the resolution."""
    return uncertain(
        0.0, math.hypot(1.0, 1 / math.sqrt(12)) / math.sqrt(looks), name, f"noise and resolution of {looks} looks"
    )


class Eyes:
    """One board's scan, with the causes that all its looks share. `looks`: at a pair, where nothing else is said."""

    def __init__(self, board: Board, looks: int | None = None) -> None:
        self.board, self._looks = board, looks
        self.bare = board.identity.build == "bare"
        self._converter = 1 + rectangular(0.0015, "scan converter", "ADS1115: 0.15 % of gain")
        self._drive_ohm = END_OHM * (1 + rectangular(0.01, "R88", "100 ohm, 1 %"))
        self._sink_ohm = END_OHM * (1 + rectangular(0.01, "R89", "100 ohm, 1 %"))
        self._zero = {full_v: _zero(full_v) for full_v in (DRIVEN_V, SUNK_V, LOOK_V)}
        self._look_zero_v = rectangular(1e-3, "look", "leakage of the multiplexer, 0.1 uA, in 10 kohm")
        self._pin_ohm = PIN_OHM * (1 + rectangular(0.3, "pins", "a pin driven has 25 ohm within 30 %, data sheet"))
        self._bare_ohm = {
            line: ohm * (1 + rectangular(0.01, "drive resistors", f"{ohm:g} ohm, 1 %"))
            for line, ohm in BARE_OHM.items()
        }
        self.pull_up_ohm = PULL_UP_OHM + rectangular(15e3, "pull-up", "20 to 50 kohm, data sheet")

    def look(self, source: Line, sink: Line, look: Line = Line.NONE, weak: bool = False, times: int = 0) -> Sight:
        """The pair, looked at several times, or as often as is said."""
        usual = self._looks or (BARE_LOOKS if self.bare else LOOKS)
        counts = tuple(self.board.scan(Scan(source, sink, look, weak)) for _ in range(times or usual))
        return self._bare(counts) if self.bare else self._full(counts)

    def volts(self, counts: float) -> Any:
        """Volts of a terminal of the full build, from counts of a look."""
        told = counts + self._zero[LOOK_V] + _scatter(LOOKS, "scan look")
        return told * LOOK_V / FULL_SCALE * self._converter + self._look_zero_v

    def _full(self, counts: tuple[ScanCounts, ...]) -> Sight:
        def volts(full_v: float, name: str) -> Any:
            mean = sum(getattr(one, name) for one in counts) / len(counts)
            told = mean + self._zero[full_v] + _scatter(len(counts), f"scan {name}")
            return told * full_v / FULL_SCALE * self._converter

        def terminal(line: Line, name: str) -> Any:
            return 0.0 if line in (Line.NONE, Line.T30) else volts(LOOK_V, name) + self._look_zero_v

        first = counts[0]
        return Sight(
            source_v=terminal(first.source_line, "source"),
            sink_v=terminal(first.sink_line, "sink"),
            source_a=-volts(DRIVEN_V, "driven") / self._drive_ohm,
            sink_a=volts(SUNK_V, "sunk") / self._sink_ohm,
            counts=counts,
        )

    def _bare(self, counts: tuple[ScanCounts, ...]) -> Sight:
        def terminal(line: Line, name: str) -> Any:
            if line is Line.NONE:
                return 0.0
            mean = sum(getattr(one, name) for one in counts) / len(counts) + BARE_HALF_COUNT
            own = rectangular(8, f"scan {name}", "the Nano's converter: half a count off its straight line")
            return (mean + own) / BARE_FULL * BARE_V

        first = counts[0]
        source_v, sink_v = terminal(first.source_line, "source"), terminal(first.sink_line, "sink")
        driver = self.pull_up_ohm if first.weak else self._pin_ohm
        return Sight(
            source_v=source_v,
            sink_v=sink_v,
            source_a=(BARE_V - source_v) / (self._bare_ohm[first.source_line] + driver) if first.source_line else 0.0,
            sink_a=sink_v / (self._bare_ohm[first.sink_line] + self._pin_ohm) if first.sink_line else 0.0,
            counts=counts,
        )
