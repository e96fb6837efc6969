"""From what was observed to a calibration: each channel's gain and zero, with its uncertainty.

Rule 1: a calibration never forgets the parts' data sheets. What a sheet promises and what was measured are two
estimates of one constant; their mean, weighed by 1/u^2, is taken. A cheap multimeter cannot make a good part worse.
Rule 2: causes keep their names, so that the resistor that calibrated amps by volts is seen as one cause in both.
"""

import math
import statistics
from datetime import datetime
from typing import Any

from pulldrop.measure.rig.counts.budget import (
    BUS_INPUT_S,
    COMMON_A_PER_V,
    COMMON_WHY,
    LEADS_OHM,
    nominal_value,
    rectangular,
    terms,
    uncertain,
)
from pulldrop.measure.rig.counts.ranges import FINEST, SERIES_LOSS, bend, of_range, range_zero
from pulldrop.model.bench.calibration import (
    COIL_COMMON,
    COIL_LEADS,
    ROOT3,
    SEAT_OHM,
    Calibration,
    Channel,
    Clips,
    Share,
    nominal,
)
from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import AmpsPoint, Meter, Observed, Reference
from pulldrop.model.coverage import shape_of
from pulldrop.model.raw import TICKS_PER_S

LOW_V = 1.0
"""Points below it tell the zero, points above it the gain."""
NOISE_COUNTS = 0.2
"""Standard uncertainty of a mean of 16 integer counts with about half a count of noise."""
BLADES_OHM = 0.6e-3
"""What blades and clips add to a low resistor in the socket, at most (assumed: 0.1 to 0.3 mohm a clip)."""
DAC_BEND_COUNTS = 2.0
"""The DAC's deviation from its straight line (MCP4725 data sheet, INL 2 counts typical)."""
EMF_COUNTS = 0.64
"""5 uV by which thermal voltages may change after the zero was taken (assumed), in counts of 7.8 uV."""
SUPPLY_DRIFT = 0.005
"""By which the 5 V supply, and with it DAC and fast converter, may change after the calibration (assumed)."""
CLOCK_S, COMPUTER = 0.005, 50e-6
"""One answer's jitter on the line, and a computer's crystal (common practice)."""
U_DRIFT = 50e-6 * 10 / 3
"""A shunt, or a resonator, between the day of its calibration and a run: up to 50 ppm/K (assumed of a metal element;
makers' sheets of ceramic resonators, 0.25 % over 50 K) times up to 10 K, either way, both rectangular: the standard
uncertainty of such a product is a third of the product of the limits."""
LINK_OHM, LINK_ROOM_OHM = 0.12e-3, 0.03e-3
"""The shorting link, a strip of copper 6.3 by 0.8 mm and 35 mm from clip to clip: 17.2 nohm m * 35 mm / 5.04 mm2, known
to 5 mm and a tenth of its section."""
LEAST_SEATINGS = 4
"""Fewer say nothing of a scatter; where they show less than what is assumed, that stays."""
OF_SHEET = "as its data sheet allows"


def solve(observed: Observed, meter: Meter, board: Identity, name: str, taken_at: datetime) -> Calibration:
    """The calibration that follows; channels that were not observed stay nominal."""
    base = nominal(board.serial, board.build)
    bus = _Bus(observed, meter, base)
    amps = _Amps(observed, meter, base, bus)
    drop, load = _contact(observed, base)
    offset = _temperature(observed, base)
    return base.model_copy(
        update={
            "name": name,
            "taken_at": taken_at,
            "simulated": board.simulated,
            "coil_set": _setting(observed, base, bus) if board.able.coil == "set" else base.coil_set,
            "coil_bus": _channel(base.coil_bus, bus.one, bus.zero),
            "coil_shunt": _channel(base.coil_shunt, amps.one, None),
            "coil_fast": _fast(observed, base, amps),
            "low_side_ohm": nominal_value(amps.low_side),
            "u_low_side_ohm": amps.low_side.std_dev,
            "drop": drop,
            "load": load,
            "tick": _tick(observed, base),
            "temperature_offset_k": nominal_value(offset),
            "u_temperature_k": offset.std_dev,
            "clips": _clips(observed, drop, load),
        }
    )


def weighed(sheet: Any, measured: Any) -> Any:
    """The mean of two independent estimates, weighed by 1/u^2."""
    of_sheet, of_measured = sheet.std_dev**-2, measured.std_dev**-2
    return (sheet * of_sheet + measured * of_measured) / (of_sheet + of_measured)


def meter_volts(meter: Meter, volts: float) -> Any:
    """A multimeter's reading with its accuracy; the percentage is one cause for each of its ranges."""
    where = "millivolts" if volts < LOW_V else "volts"
    gain = rectangular(meter.volts_percent / 100, f"multimeter {where}", f"+-{meter.volts_percent:g} % of reading")
    digits = f"multimeter digits at {volts:.3g} V"
    return volts * (1 + gain) + rectangular(meter.digits_v(volts), digits, f"+-{meter.digits:g} digits")


def reference(resistor: Reference) -> Any:
    """A resistor with its uncertainty."""
    return uncertain(resistor.ohm, resistor.u_ohm, "reference resistor", resistor.how, shape="rectangular")


def _counts(value: float, name: str) -> Any:
    return uncertain(value, NOISE_COUNTS, f"{name} at {value:.0f} counts", "noise and resolution of a mean")


class _Bus:
    """Volts at coil +: `one` corrects the nominal gain, `zero` is in counts."""

    def __init__(self, observed: Observed, meter: Meter, base: Calibration) -> None:
        self._gain = base.coil_bus.gain
        self.zero = uncertain(0.0, base.coil_bus.u_zero, "INA226 bus zero", OF_SHEET, shape="rectangular")
        self.one = uncertain(1.0, base.coil_bus.u_gain, "INA226 bus gain", OF_SHEET, shape="rectangular")
        low = [point for point in observed.volts if point.meter_v < LOW_V]
        high = [point for point in observed.volts if point.meter_v >= LOW_V]
        for point in low:
            counts = _counts(point.bus, "coil volts zero")
            self.zero = weighed(self.zero, counts - meter_volts(meter, point.meter_v) / self._gain)
        if high:
            ratios = [
                meter_volts(meter, point.meter_v) / ((_counts(point.bus, "coil volts") - self.zero) * self._gain)
                for point in high
            ]  # the best one, not their mean: a multimeter is wrong in the same sense everywhere
            self.one = weighed(self.one, min(ratios, key=lambda ratio: ratio.std_dev))

    def volts(self, counts: float) -> Any:
        """Volts of a mean of bus counts."""
        return (_counts(counts, "coil volts") - self.zero) * self._gain * self.one


class _Amps:
    """Coil amps by the reference resistor: `one` corrects the nominal gain of the shunt; and the low side's ohms."""

    def __init__(self, observed: Observed, meter: Meter, base: Calibration, bus: _Bus) -> None:
        self._gain, self._zero = base.coil_shunt.gain, observed.shunt_zero
        self.one = uncertain(1.0, base.coil_shunt.u_gain, "coil shunt", OF_SHEET, shape="rectangular")
        self._bus, self._common = bus, BUS_INPUT_S + rectangular(COMMON_A_PER_V, COIL_COMMON, COMMON_WHY)
        self.low_side = uncertain(base.low_side_ohm, base.u_low_side_ohm, "low side", "parts' tolerances")
        if observed.resistor is None or not observed.amps:
            return
        ohm = reference(observed.resistor)
        if observed.low_side:
            below = meter_volts(meter, observed.low_side.meter_v)
            amps = (bus.volts(observed.low_side.bus) - below) / ohm
            self.low_side = weighed(self.low_side, below / amps)
        point = max(observed.amps, key=lambda one: one.shunt)
        leads = LEADS_OHM / 2 + rectangular(LEADS_OHM / 2, COIL_LEADS, "in series with the resistor, as with a coil")
        amps = bus.volts(point.bus) / (ohm + leads + self.low_side)
        measured = amps / (self._spanned(point) * self._gain)
        self.one = weighed(self.one, measured * _drift("coil shunt"))

    def amps(self, point: AmpsPoint) -> Any:
        """Amps of one point."""
        return self._spanned(point) * self._gain * self.one

    def _spanned(self, point: AmpsPoint) -> Any:
        """Shunt counts of the resistor's current alone."""
        common = nominal_value(self._bus.volts(point.bus)) * self._common / self._gain
        return _counts(point.shunt, "coil amps") - _counts(self._zero, "coil amps zero") - common


def _channel(base: Channel, one: Any, zero: Any | None) -> Channel:
    """The channel with a corrected gain, each cause of it a share; `zero` None: it is taken in every run."""
    factor = nominal_value(one)
    return base.model_copy(
        update={
            "gain": base.gain * factor,
            "u_gain": 0.0,
            "shares": _shares(one / factor),
            "zero": base.zero if zero is None else nominal_value(zero),
            "u_zero": base.u_zero if zero is None else zero.std_dev,
            "shape": base.shape if zero is None else shape_of((term.u, term.shape) for term in terms(zero)),
            "why": "calibrated",
        }
    )


def _shares(one: Any) -> tuple[Share, ...]:
    """The effect of each cause on a relative gain, the largest first."""
    return tuple(Share(name=term.name, u=term.u, why=term.why, shape=term.shape) for term in terms(one))


def _drift(shunt: str) -> Any:
    return uncertain(1.0, U_DRIFT, f"{shunt} since", "up to 50 ppm/K and 10 K")


def _fast(observed: Observed, base: Calibration, amps: _Amps) -> Channel:
    """The fast converter held against the calibrated shunt, by a straight line through two currents."""
    if len(observed.amps) < 2:
        return base.coil_fast
    low, high = sorted(observed.amps, key=lambda one: one.shunt)[:: len(observed.amps) - 1]
    span = _counts(high.fast, "fast converter") - _counts(low.fast, "fast converter")
    gain = (amps.amps(high) - amps.amps(low)) / span
    zero = high.fast - nominal_value(amps.amps(high)) / nominal_value(gain)
    u_gain = (float(gain.std_dev / nominal_value(gain)) ** 2 + SUPPLY_DRIFT**2 / 3) ** 0.5
    why = "calibrated against the coil shunt; 5 V supply may drift"
    return Channel(gain=nominal_value(gain), zero=zero, u_gain=u_gain, u_zero=1.0, why=why)


def _setting(observed: Observed, base: Calibration, bus: _Bus) -> Channel:
    """What a count of the DAC gives, by the line through the lowest and the highest point."""
    if len(observed.volts) < 2:
        return base.coil_set
    low, high = min(observed.volts, key=lambda one: one.dac), max(observed.volts, key=lambda one: one.dac)
    gain = nominal_value(bus.volts(high.bus) - bus.volts(low.bus)) / (high.dac - low.dac)
    zero = high.dac - nominal_value(bus.volts(high.bus)) / gain
    why = "calibrated; the 5 V supply may drift"
    u_gain, u_zero = SUPPLY_DRIFT / ROOT3, DAC_BEND_COUNTS / ROOT3
    return Channel(gain=gain, zero=zero, u_gain=u_gain, u_zero=u_zero, why=why, shape="rectangular")


def _contact(observed: Observed, base: Calibration) -> tuple[Channel, Channel]:
    """Contact volts and load amps. Only their ratio counts for a contact's drop, and the low resistor gives just that:
    the converter's gain, common to both, cancels."""
    converter = Share(name="ADS1115 gain", u=base.drop.u_gain, why=OF_SHEET, shape="rectangular")
    gain = base.drop.gain * (1 + SERIES_LOSS)
    drop = base.drop.model_copy(update={"gain": gain, "u_gain": 0.0, "shares": (converter,)})
    one = 1 + rectangular(0.01, "load shunt", "5 mohm 1 %")
    drop_zero, load_zero = observed.contact_zero or (0.0, 0.0)
    if observed.contact and observed.contact_resistor:
        point, ohm = observed.contact, reference(observed.contact_resistor)
        zero = drop_zero if point.gain == FINEST else range_zero(point.gain)
        ohm += BLADES_OHM / 2 + rectangular(BLADES_OHM / 2, "blades", "clips and blades in series with the resistor")
        seen = _counts(point.drop, "contact volts") + bend(point.drop, point.gain, "calibration volts")
        volts = (seen - zero) * drop.gain * of_range(point.gain)
        counts = _counts(point.shunt, "load amps") - _counts(load_zero, "load zero")
        counts += bend(point.shunt, FINEST, "calibration amps")
        one = weighed(one, volts / ohm / (counts * base.load.gain) * _drift("load shunt"))
    load = _channel(base.load, one, None)
    load = load.model_copy(update={"shares": (converter, *load.shares)})
    if observed.contact_zero:
        u_zero = (NOISE_COUNTS**2 + 0.25 + EMF_COUNTS**2 / 3) ** 0.5
        mixed = {"u_zero": u_zero, "shape": "normal"}
        drop = drop.model_copy(update={"zero": drop_zero, "why": "zero by the shorting link", **mixed})
        load = load.model_copy(update={"zero": load_zero, **mixed})
    return drop, load


def _clips(observed: Observed, drop: Channel, load: Channel) -> Clips:
    """What the link read under load leaves for the clips when the strip itself is taken off."""
    if observed.links is None:
        return Clips()
    no, nc, *again = (
        point.drop * drop.gain / ((point.shunt - load.zero) * load.gain)
        for point in (*observed.links, *observed.seatings)
    )
    assumed, room, seated = SEAT_OHM / ROOT3, LINK_ROOM_OHM / ROOT3, [no, *again]
    shown = statistics.stdev(seated) if len(seated) >= LEAST_SEATINGS else 0.0
    at = {"no_ohm": statistics.fmean(seated) - LINK_OHM, "nc_ohm": nc - LINK_OHM}
    if shown > assumed:  # a part is seated as differently from the link as the link from itself
        return Clips(**at, u_ohm=room, u_seat_ohm=2**0.5 * shown, seat_freedom=len(seated) - 1.0)
    return Clips(
        **at, u_ohm=math.hypot(room, assumed), shape=shape_of([(room, "rectangular"), (assumed, "rectangular")])
    )


def _temperature(observed: Observed, base: Calibration) -> Any:
    offset = uncertain(0.0, base.u_temperature_k, "temperature", "NTC and its divider")
    if observed.temperature is None:
        return offset
    bench_c, thermometer_c, accuracy_k = observed.temperature
    return weighed(offset, thermometer_c - bench_c + rectangular(accuracy_k, "thermometer", "its accuracy"))


def _tick(observed: Observed, base: Calibration) -> Channel:
    if observed.clock is None:
        return base.tick
    board_s, computer_s = observed.clock
    u = math.hypot(2**0.5 * CLOCK_S / computer_s, COMPUTER / ROOT3, U_DRIFT)
    measured = uncertain(computer_s / board_s, u, "clock", "board against computer")
    one = weighed(uncertain(1.0, base.tick.u_gain, "resonator", OF_SHEET, shape="rectangular"), measured)
    why = f"against the computer over {computer_s:.0f} s; resonator drifts with temperature"
    return base.tick.model_copy(
        update={"gain": nominal_value(one) / TICKS_PER_S, "u_gain": float(one.std_dev), "why": why, "shape": "normal"}
    )
