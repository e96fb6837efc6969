"""What a calibration reads from the board: means of counts, with the supply held while a person reads a meter.

Rule: nothing stays on for longer than a person is being waited for; the board ends it by itself otherwise.
"""

from statistics import fmean

from pulldrop.board.request_types import DAC_MAX, Analog, Branch, Drive, Pulse
from pulldrop.measure.rig import load_supply
from pulldrop.measure.rig.counts.channels import SUM
from pulldrop.measure.rig.counts.ranges import FINEST
from pulldrop.measure.rig.load import in_range
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.bench.kit import AmpsPoint, ContactPoint
from pulldrop.model.raw import Contact, PulseCounts

HOLD_MS = 3000
"""The coil supply stays on this long after the last request to hold it."""
SETTLE_S, BRIEF_S = 0.1, 0.03
"""Until the current through a resistor is steady."""
MEAN_OF, PULSES = 16, 3
"""Conversions of the coil supply, and load pulses, that are averaged."""
REST_S = 1.0
"""Between load pulses, which the board allows 10 % of the time."""
LOAD_V = 12.0
"""The load supply, nearly enough to choose a branch by."""
BRANCHES = ((Branch.A10, 10.0, 1.2), (Branch.A5, 5.0, 2.4), (Branch.A1, 1.0, 12.0))
"""With their amps and ohms. 20 A would heat a low resistor for nothing."""
DROP_MOST_V = 0.24
"""Inside the most sensitive range, in which contacts are measured: another range has a slightly other gain."""
TRIP_COUNTS = 600
"""180 mA by the fast converter; the reference resistor takes about 50."""


def hold(rig: Rig, dac: int) -> None:
    """The coil supply at `dac` with its switch closed, for 3 s; ask again to keep it. A supply that nobody can set
    is on or off."""
    on = dac > 0 or rig.able.coil == "set"
    rig.board.hold_coil(Drive(dac, on=on, on_ms=HOLD_MS, dry=Contact.NONE, limit=TRIP_COUNTS))


def aimed(rig: Rig, volts: float) -> int:
    """The code that gives `volts` nearly, by what a first one gave; the DAC's zero alone may be off by 0.2 V."""
    dac = rig.dac_for(volts)
    if rig.able.coil != "set":
        return dac
    settled(rig, dac)
    missing_v = volts - rig.calibration.coil_bus.value(coil(rig)[0])
    return min(max(dac + round(missing_v / rig.volts_per_count), 1), DAC_MAX)


def settled(rig: Rig, dac: int) -> None:
    """Hold, and wait until currents are steady."""
    hold(rig, dac)
    rig.wait(SETTLE_S)


def coil(rig: Rig) -> tuple[float, float]:
    """Means of bus and shunt counts."""
    counts = [rig.board.sense_coil() for _ in range(MEAN_OF)]
    return fmean(one.bus for one in counts), fmean(one.shunt for one in counts)


def coil_with_fast(rig: Rig) -> AmpsPoint:
    """The same, and the mean of the fast converter."""
    bus, shunt = coil(rig)
    fast = fmean(rig.board.sense_analog(Analog.COIL_CURRENT) / SUM for _ in range(4))
    return AmpsPoint(bus=bus, shunt=shunt, fast=fast)


def briefly(rig: Rig, volts: float) -> AmpsPoint:
    """The same of a resistor that bears these volts for a moment only: off again after a third of a second."""
    hold(rig, rig.dac_for(volts))
    rig.wait(BRIEF_S)
    point = coil_with_fast(rig)
    rig.off()
    return point


def shunt_zero(rig: Rig) -> float:
    """Shunt counts with the coil switch open."""
    rig.off()
    rig.wait(SETTLE_S)
    return coil(rig)[1]


def clock_s(rig: Rig) -> float:
    """Seconds since its start, by the board's own clock."""
    return rig.board.status().uptime_ms / 1000


def closed(rig: Rig, throw: Contact = Contact.NO) -> bool:
    """Whether a throw, 30-87 or 30-87a, is seen closed."""
    return bool(rig.seen_at_rest(SETTLE_S) & throw)


def contact_zero(rig: Rig) -> tuple[float, float]:
    """Drop and load counts at zero, the link between 30 and 87.

    The drop with 87 fed, whose 5 mA make nothing in the link; the load shunt with 87a fed, which is open: there 5 mA
    would already count.
    """
    linked = [rig.board.load_pulse(Pulse(Contact.NO, Branch.NONE, 5, 12, 200)) for _ in range(PULSES)]
    open_ = [rig.board.load_pulse(Pulse(Contact.NC, Branch.NONE, 5, 12, 200)) for _ in range(PULSES)]
    return fmean(count for one in linked for count in one.drop), fmean(count for one in open_ for count in one.shunt)


def link(rig: Rig, throw: Contact) -> ContactPoint:
    """The link in one throw at 10 A; the drop less what the same seating shows at 5 mA. First 1 A, or WireTrouble."""
    load_supply.returns(rig.board, throw)
    rig.wait(REST_S)
    pulses, zeros = [], []
    for _ in range(PULSES):
        zeros.append(rig.board.load_pulse(Pulse(throw, Branch.NONE, 5, 12, 200)))
        pulses.append(rig.board.load_pulse(Pulse(throw, Branch.A10, 4, 12, 150)))
        rig.wait(REST_S)
    drop, zero = (fmean(count for one in listed for count in one.drop) for listed in (pulses, zeros))
    return ContactPoint(drop=drop - zero, shunt=fmean(count for one in pulses for count in one.shunt), gain=FINEST)


def contact(rig: Rig, ohm: float) -> ContactPoint:
    """The low resistor of about `ohm` under the largest load that keeps its drop in range, or the smallest one."""
    had = [(one, series) for one, amps, series in BRANCHES if amps in rig.able.loads_a]
    branch = next((one for one, series in had if LOAD_V * ohm / (ohm + series) <= DROP_MOST_V), had[-1][0])

    def ask(gain: int) -> PulseCounts:
        pulse = rig.board.load_pulse(Pulse(Contact.NO, branch, 4, 12, 150, gain=gain))
        rig.wait(REST_S)
        return pulse

    pulses = in_range(ask, PULSES)
    drop, shunt = (count for one in pulses for count in one.drop), (count for one in pulses for count in one.shunt)
    return ContactPoint(drop=fmean(drop), shunt=fmean(shunt), gain=pulses[0].gain)
