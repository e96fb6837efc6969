"""What a calibration reads from the board: means of counts, with the supply held while a person reads a meter.

Rule: nothing stays on for longer than a person is being waited for; the board ends it by itself otherwise.
"""

from statistics import fmean

from pulldrop.board.contract import DAC_MAX, Analog, Board, Branch, Drive, Pulse
from pulldrop.measure.rig import load_supply, temperature
from pulldrop.measure.rig.ranges import GAINS
from pulldrop.model.bench.calibration import Channel
from pulldrop.model.bench.kit import AmpsPoint, ContactPoint
from pulldrop.model.raw import Contact, PulseCounts

HOLD_MS = 3000
"""The coil supply stays on this long after the last request to hold it."""
SETTLE_S = 0.1
"""Until the current through a resistor is steady."""
MEAN_OF, PULSES = 16, 3
"""Conversions of the coil supply, and load pulses, of which a mean is taken."""
REST_S = 1.0
"""Between load pulses, which the board allows 10 % of the time."""
NEARLY_FULL = 32_000
"""Counts above which a wider range is taken; the converter ends at 32767."""
LOAD_V = 12.0
"""The load supply, nearly enough to choose a branch by."""
BRANCHES = ((Branch.A10, 1.2), (Branch.A5, 2.4), (Branch.A1, 12.0))
"""With their ohms. 20 A would heat a low resistor for nothing."""
DROP_MOST_V = 0.24
"""Inside the most sensitive range, in which contacts are measured: another range has a slightly other gain."""
TRIP_COUNTS = 600
"""180 mA by the fast converter; the reference resistor takes about 50."""


def dac_for(volts: float, setting: Channel) -> int:
    """The code that gives about `volts`."""
    return min(max(round(volts / setting.gain + setting.zero), 0), DAC_MAX)


def hold(board: Board, dac: int) -> None:
    """The coil supply at `dac` with its switch closed, for 3 s; ask again to keep it."""
    board.hold_coil(Drive(dac=dac, on=True, on_ms=HOLD_MS, dry=Contact.NONE, limit=TRIP_COUNTS))


def aimed(board: Board, dac: int, volts: float, setting: Channel, bus: Channel) -> int:
    """The code that gives `volts` more nearly, from what `dac` gave; the DAC's zero alone may be off by 0.2 V."""
    settled(board, dac)
    return min(max(dac + round((volts - bus.value(coil(board)[0])) / setting.gain), 1), DAC_MAX)


def settled(board: Board, dac: int) -> None:
    """Hold, and wait until currents are steady."""
    hold(board, dac)
    board.wait(SETTLE_S)


def coil(board: Board) -> tuple[float, float]:
    """Means of bus and shunt counts."""
    counts = [board.sense_coil() for _ in range(MEAN_OF)]
    return fmean(one.bus for one in counts), fmean(one.shunt for one in counts)


def coil_with_fast(board: Board) -> AmpsPoint:
    """The same, and the mean of the fast converter."""
    bus, shunt = coil(board)
    fast = fmean(board.sense_analog(Analog.COIL_CURRENT) / 16 for _ in range(4))
    return AmpsPoint(bus=bus, shunt=shunt, fast=fast)


def shunt_zero(board: Board) -> float:
    """Shunt counts with the coil switch open."""
    board.off()
    board.wait(SETTLE_S)
    return coil(board)[1]


def bench_c(board: Board) -> float | None:
    """Temperature by the bench's own sensor, uncorrected."""
    return temperature.from_sum(board.sense_analog(Analog.BENCH_TEMPERATURE))


def closed(board: Board, throw: Contact = Contact.NO) -> bool:
    """Whether a throw, 30-87 or 30-87a, is seen closed."""
    board.hold_coil(Drive(dac=0, on=False, on_ms=HOLD_MS))
    board.wait(SETTLE_S)
    return bool(board.status().contacts & throw)


def contact_zero(board: Board) -> tuple[float, float]:
    """Drop and load counts at zero, the link between 30 and 87.

    The drop with 87 fed, whose 5 mA make nothing in the link; the load shunt with 87a fed, which is open: there 5 mA
    would already count.
    """
    linked = [board.load_pulse(Pulse(Contact.NO, Branch.NONE, 5, 12, 200)) for _ in range(PULSES)]
    open_ = [board.load_pulse(Pulse(Contact.NC, Branch.NONE, 5, 12, 200)) for _ in range(PULSES)]
    return fmean(count for one in linked for count in one.drop), fmean(count for one in open_ for count in one.shunt)


def link(board: Board, throw: Contact) -> ContactPoint:
    """The link in one throw at 10 A; the drop less what the same seating shows at 5 mA. First 1 A, or WireTrouble."""
    load_supply.returns(board, throw)
    board.wait(REST_S)
    pulses, zeros = [], []
    for _ in range(PULSES):
        zeros.append(board.load_pulse(Pulse(throw, Branch.NONE, 5, 12, 200)))
        pulses.append(board.load_pulse(Pulse(throw, Branch.A10, 4, 12, 150)))
        board.wait(REST_S)
    drop, zero = (fmean(count for one in listed for count in one.drop) for listed in (pulses, zeros))
    return ContactPoint(drop=drop - zero, shunt=fmean(count for one in pulses for count in one.shunt), gain=GAINS[0])


def contact(board: Board, ohm: float) -> ContactPoint:
    """The low resistor of about `ohm` under the largest load that keeps its drop in range."""
    branch = next((one for one, series in BRANCHES if LOAD_V * ohm / (ohm + series) <= DROP_MOST_V), Branch.A1)
    gain = GAINS[0]
    pulses: list[PulseCounts] = []
    while len(pulses) < PULSES:
        pulse = board.load_pulse(Pulse(Contact.NO, branch, 4, 12, 150, gain=gain))
        board.wait(REST_S)
        if max(map(abs, pulse.drop)) > NEARLY_FULL and gain > 1:
            gain, pulses = gain - 1, []
            continue
        pulses.append(pulse)
    drop, shunt = (count for one in pulses for count in one.drop), (count for one in pulses for count in one.shunt)
    return ContactPoint(drop=fmean(drop), shunt=fmean(shunt), gain=gain)
