"""The same part on the same bench, asked the same questions on both boards: one table of answers and tolerances.

A tolerance holds what differs by right: the firmware sees an edge some microseconds late, samples the current up to
half a sample earlier or later, and draws other noise. Systematic differences do not fit in it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from statistics import fmean, median

from pulldrop.board.contract import Board
from pulldrop.board.request_types import Analog, Branch, Drive, Load, Pulse, Stairs
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact

US = TICKS_PER_S // 1_000_000
BOTH = Contact.NO | Contact.NC
ON = Drive(dac=1843, on=True, on_ms=60_000)
OFF = Drive(dac=0, on=False, on_ms=60_000)
OFF_DIODE = Drive(dac=0, on=False, on_ms=60_000, diode=True)
FINE = 7  # DAC counts, 50 mV
TIME, COUNT = "us", "counts"


@dataclass(frozen=True, slots=True)
class Row:
    """One answer, by how much the two boards may differ in it, and why so much."""

    name: str
    tolerance: float
    unit: str
    why: str


LATE = "pin change some 30 cycles late behind another interrupt; a bounce shorter than that may be missed"
NOISE = "noise of two readings, three standard deviations each"
SUMMED = "two sums of 16 conversions, 0.5 counts of noise and rounding each: five standard deviations"
TABLE = (
    Row("operate: NC opens", 40, TIME, LATE),
    Row("operate: NO closes", 40, TIME, LATE),
    Row("operate: NO is quiet", 40, TIME, LATE),
    Row("release: NO opens", 40, TIME, LATE),
    Row("release: NC closes", 40, TIME, LATE),
    Row("release: NC is quiet", 40, TIME, LATE),
    Row("release with diode: NO opens", 40, TIME, LATE),
    Row("release with diode: NC closes", 40, TIME, LATE),
    Row("coil current at the step", 12, COUNT, "sampled some 5 us after the switch, while it rises a count a us"),
    Row("coil current while rising", 6, COUNT, "3 counts of systematic difference, and noise"),
    Row("coil current at the end", 1.5, COUNT, NOISE),
    Row("spike: highest", 6, COUNT, "3 counts of systematic difference, and noise"),
    Row("spike: samples above 60 V", 2, "samples", "sampled some us after the switch"),
    Row("pull-in", 2 * FINE, COUNT, "two steps of the staircase"),
    Row("drop-out", 2 * FINE, COUNT, "two steps of the staircase"),
    Row("coil bus", 3, COUNT, NOISE),
    Row("coil shunt", 4, COUNT, NOISE),
    Row("drop of NO at 10 A", 4, COUNT, NOISE),
    Row("load current through NO", 4, COUNT, NOISE),
    Row("hot make: NO closes", 40, TIME, LATE),
    Row("hot make: NO is quiet", 40, TIME, LATE),
    Row("load current of the hot make", 8, COUNT, "one conversion each: five standard deviations"),
    Row("release after the hot make: NO opens", 40, TIME, LATE),
    Row("drop of NC at 5 A", 4, COUNT, NOISE),
    Row("load current through NC", 4, COUNT, NOISE),
    Row("temperature", 14, COUNT, SUMMED),
    Row("load supply", 14, COUNT, SUMMED),
)


def ask(board: Board) -> dict[str, float | list[float]]:
    """One fixed order of work, so that both parts have the same history."""
    told: dict[str, float | list[float]] = {}
    rest(board)
    step_up = board.step_coil(ON, window_ms=18, divider=1)
    told["operate: NC opens"] = edge_us(step_up, Contact.NC, False)
    told["operate: NO closes"] = edge_us(step_up, Contact.NO, True)
    told["operate: NO is quiet"] = quiet_us(step_up, Contact.NO)
    told["coil current at the step"] = step_up.samples[0]
    told["coil current while rising"] = [float(count) for count in step_up.samples[1:]]
    told["coil current at the end"] = fmean(step_up.samples[-60:])
    board.wait(0.06)
    coil = [board.sense_coil() for _ in range(3)]
    told["coil bus"] = median(counts.bus for counts in coil)
    told["coil shunt"] = median(counts.shunt for counts in coil)
    told |= pulsed(board, "NO", Pulse(Contact.NO, Branch.A10, settle_ms=5, samples=12, limit_ms=60), "10 A")
    step_down = board.step_coil(OFF, window_ms=20, divider=2)
    told["release: NO opens"] = edge_us(step_down, Contact.NO, False)
    told["release: NC closes"] = edge_us(step_down, Contact.NC, True)
    told["release: NC is quiet"] = quiet_us(step_down, Contact.NC)
    rest(board)
    told |= pulsed(board, "NC", Pulse(Contact.NC, Branch.A5, settle_ms=5, samples=12, limit_ms=60), "5 A")
    board.hold_coil(ON)
    board.wait(0.06)
    slow = board.step_coil(OFF_DIODE, window_ms=60, divider=4)
    told["release with diode: NO opens"] = edge_us(slow, Contact.NO, False)
    told["release with diode: NC closes"] = edge_us(slow, Contact.NC, True)
    rest(board)
    board.hold_coil(ON)
    board.wait(0.06)
    spike = board.step_coil(OFF, window_ms=15, divider=1, low_side=True)
    told["spike: highest"] = max(spike.samples)
    told["spike: samples above 60 V"] = sum(count > 550 for count in spike.samples)
    rest(board)
    hot, pair = board.hot_step(ON, Load(Contact.NO, Branch.A10, limit_ms=60), window_ms=20, divider=1)
    told["hot make: NO closes"] = edge_us(hot, Contact.NO, True)
    told["hot make: NO is quiet"] = quiet_us(hot, Contact.NO)
    told["load current of the hot make"] = pair.shunt[0]
    told["release after the hot make: NO opens"] = edge_us(board.step_coil(OFF, 20, 1), Contact.NO, False)
    rest(board)
    told["pull-in"] = threshold(board, 500, FINE, Contact.NO)
    board.hold_coil(ON)
    board.wait(0.06)
    told["drop-out"] = threshold(board, 700, -FINE, Contact.NC)
    board.off()
    told["temperature"] = board.sense_analog(Analog.BENCH_TEMPERATURE)
    told["load supply"] = board.sense_analog(Analog.LOAD_SUPPLY)
    return told


def rest(board: Board) -> None:
    board.hold_coil(OFF)
    board.wait(0.06)


def edge_us(capture: Capture, contact: Contact, closed: bool) -> float:
    return next(edge.tick / US for edge in capture.edges if (edge.contact, edge.closed) == (contact, closed))


def quiet_us(capture: Capture, contact: Contact) -> float:
    return max(edge.tick / US for edge in capture.edges if edge.contact == contact)


def pulsed(board: Board, throw: str, pulse: Pulse, load: str) -> dict[str, float | list[float]]:
    counts = board.load_pulse(pulse)
    return {
        f"drop of {throw} at {load}": fmean(counts.drop),
        f"load current through {throw}": fmean(counts.shunt),
    }


def threshold(board: Board, start: int, step: int, wanted: Contact) -> float:
    drive = Drive(dac=start, on=True, on_ms=60_000)
    count = 200 if step > 0 else start // -step
    landing = board.staircase(Stairs(drive, step=step, count=count, dwell_ms=15, watch=BOTH, wanted=wanted))
    assert landing.stopped
    return landing.dac


def difference(one: float | list[float], other: float | list[float]) -> float:
    if isinstance(one, list) and isinstance(other, list):
        assert len(one) == len(other)
        return max(abs(a - b) for a, b in zip(one, other, strict=True))
    assert isinstance(one, float | int) and isinstance(other, float | int)
    return abs(one - other)


def test_both_boards_give_the_same_answers(open_board: Callable[[str], Board]) -> None:
    told = {kind: ask(open_board(kind)) for kind in ("virtual", "emulated")}
    found = {row.name: difference(told["virtual"][row.name], told["emulated"][row.name]) for row in TABLE}
    assert set(told["virtual"]) == set(found)
    apart = [
        f"{row.name}: {found[row.name]:.1f} {row.unit} apart, {row.tolerance} allowed ({row.why})"
        for row in TABLE
        if found[row.name] > row.tolerance
    ]
    assert not apart, "\n".join(apart)
