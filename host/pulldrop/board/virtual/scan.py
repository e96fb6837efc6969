"""The terminal scan of the board that has no firmware: the same settling and conversions, in the same order.

Rule: only what a scan reads and how long that takes; whether it may be done is decided before.
"""

from pulldrop.board.request_types import Scan
from pulldrop.board.virtual.guard import Guard
from pulldrop.model.raw import Line, ScanCounts
from pulldrop.plant.bench import scan as plant_scan

SETTLE_S, LOOK_S, COLLAPSE_S = 20.5e-3, 1.5e-3, 10.5e-3
"""Sources to the first conversion; one more line on the multiplexer; after a bare board's scan, for the coil."""


def by_lines(guard: Guard, scan: Scan, convert_s: float) -> ScanCounts:
    """The full build: sources and ADS1115 through multiplexers. `convert_s`: one conversion with its bus traffic."""

    def counts(line: Line, mux: int, gain: int) -> int:
        guard.let_pass(convert_s)
        return guard.bench.scan_counts(*plant_scan.ports(scan.source, scan.sink, line), mux, gain)

    def looked(line: Line) -> int:
        guard.let_pass(LOOK_S)
        return counts(line, plant_scan.LOOK, 0) if line not in (Line.NONE, Line.T30) else 0

    guard.let_pass(SETTLE_S)
    return ScanCounts(
        source_line=scan.source, sink_line=scan.sink, look_line=scan.look, weak=scan.weak,
        driven=counts(scan.source, plant_scan.DRIVEN, 4),
        sunk=counts(scan.source, plant_scan.SUNK, 5),
        supply=counts(scan.source, plant_scan.SUPPLY, 0),
        source=looked(scan.source), sink=looked(scan.sink), look=looked(scan.look),
    )  # fmt: skip


def by_pins(guard: Guard, scan: Scan, convert_s: float) -> ScanCounts:
    """The bare build: pins drive through resistors, 16 conversions of the Nano a line, each of `convert_s`."""
    levels = plant_scan.levels(scan.source, scan.sink, scan.weak)

    def summed(line: Line) -> int:
        if line is Line.NONE:
            return 0
        guard.let_pass(16 * convert_s)
        bench = guard.bench
        volts = bench.bare_volts(levels)[plant_scan.BARE_LINES[line]]
        return sum(bench.frontend.adc_counts(bench.noisy(volts)) for _ in range(16))

    guard.let_pass(SETTLE_S)
    counts = ScanCounts(
        source_line=scan.source, sink_line=scan.sink, look_line=scan.look, weak=scan.weak,
        driven=0, sunk=0, supply=0,
        source=summed(scan.source), sink=summed(scan.sink), look=summed(scan.look),
    )  # fmt: skip
    guard.let_pass(COLLAPSE_S)
    return counts
