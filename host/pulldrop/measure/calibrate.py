"""From what was observed to a calibration: each channel's gain and zero, with its uncertainty.

Rule 1: a calibration never forgets the parts' data sheets. What a sheet promises and what was measured are two
estimates of one constant; their mean, weighed by 1/u^2, is taken. A cheap multimeter cannot make a good part worse.
Rule 2: causes keep their names, so that the resistor that calibrated amps by volts is seen as one cause in both.
"""

from datetime import datetime
from typing import Any

from pulldrop.measure.budget import nominal_value, rectangular, terms, uncertain
from pulldrop.model.calibration import ROOT3, Calibration, Channel, Share, nominal
from pulldrop.model.identity import Identity
from pulldrop.model.kit import Meter, Observed, Reference
from pulldrop.model.raw import TICKS_PER_S

LOW_V = 1.0
"""Points below it tell the zero, points above it the gain."""
NOISE_COUNTS = 0.2
"""Standard uncertainty of a mean of 16 integer counts with about half a count of noise."""
GAIN_FACTOR = {5: 1, 4: 2, 3: 4, 2: 8, 1: 16}
RANGE_MATCH = 0.003
"""One range against another, at most: the ADS1115's gain match of 0.1 % (data sheet), and what its input resistance,
which changes with the range, takes from the series resistors (0.16 % at 256 mV)."""
SERIES_LOSS = 1140 / 710e3
"""What the ADS1115's input of 710 kohm at 256 mV (data sheet, typical) takes from the 1140 ohm before it."""
BLADES_OHM = 0.6e-3
"""What blades and clips add to a low resistor in the socket, at most (assumed: 0.1 to 0.3 mohm a clip)."""
LEADS_OHM = 0.04
"""Leads and clips of the coil, at most (assumed)."""
DAC_BEND_COUNTS = 2.0
"""The DAC's deviation from its straight line (MCP4725 data sheet, INL 2 counts typical)."""
EMF_COUNTS = 0.64
"""5 uV by which thermal voltages may change after the zero was taken (assumed), in counts of 7.8 uV."""
SUPPLY_DRIFT = 0.005
"""By which the 5 V supply, and with it DAC and fast converter, may change after the calibration (assumed)."""
CLOCK_S, COMPUTER = 0.005, 50e-6
"""One answer's jitter on the line, and a computer's crystal (common practice)."""
SHUNT_DRIFT = 0.0005
"""A shunt between the day of its calibration and a run: 50 ppm/K over 10 K (assumed of a metal element)."""
RESONATOR_DRIFT = 0.0005
"""A ceramic resonator over the temperatures of a workshop (makers' sheets: 0.2 to 0.3 % over -20..80 degC)."""
OF_SHEET = "as its data sheet allows"


def solve(observed: Observed, meter: Meter, board: Identity, name: str, taken_at: datetime) -> Calibration:
    """The calibration that follows; channels that were not observed stay nominal."""
    base = nominal(board.serial)
    bus = _Bus(observed, meter, base)
    amps = _Amps(observed, meter, base, bus)
    drop, load = _contact(observed, base)
    offset = _temperature(observed, base)
    return base.model_copy(
        update={
            "name": name,
            "taken_at": taken_at,
            "simulated": board.simulated,
            "coil_set": _setting(observed, base, bus),
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
    return uncertain(resistor.ohm, resistor.u_ohm, "reference resistor", resistor.how)


def _counts(value: float, name: str) -> Any:
    return uncertain(value, NOISE_COUNTS, f"{name} at {value:.0f} counts", "noise and resolution of a mean")


class _Bus:
    """Volts at coil +: `one` corrects the nominal gain, `zero` is in counts."""

    def __init__(self, observed: Observed, meter: Meter, base: Calibration) -> None:
        self._gain = base.coil_bus.gain
        self.zero = uncertain(0.0, base.coil_bus.u_zero, "INA226 bus zero", OF_SHEET)
        self.one = uncertain(1.0, base.coil_bus.u_gain, "INA226 bus gain", OF_SHEET)
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
        self.one = uncertain(1.0, base.coil_shunt.u_gain, "coil shunt", OF_SHEET)
        self.low_side = uncertain(base.low_side_ohm, base.u_low_side_ohm, "low side", "parts' tolerances")
        if observed.resistor is None or not observed.amps:
            return
        ohm = reference(observed.resistor)
        if observed.low_side:
            below = meter_volts(meter, observed.low_side.meter_v)
            amps = (bus.volts(observed.low_side.bus) - below) / ohm
            self.low_side = weighed(self.low_side, below / amps)
        point = max(observed.amps, key=lambda one: one.shunt)
        leads = rectangular(LEADS_OHM / 2, "coil leads", "in series with the resistor, as with a coil")
        amps = bus.volts(point.bus) / (ohm + leads + self.low_side)
        measured = amps / (self._spanned(point.shunt) * self._gain)
        self.one = weighed(self.one, measured * _drift("coil shunt"))

    def amps(self, shunt: float) -> Any:
        """Amps of a mean of shunt counts."""
        return self._spanned(shunt) * self._gain * self.one

    def _spanned(self, shunt: float) -> Any:
        return _counts(shunt, "coil amps") - _counts(self._zero, "coil amps zero")


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
            "why": "calibrated",
        }
    )


def _shares(one: Any) -> tuple[Share, ...]:
    """The effect of each cause on a relative gain, the largest first."""
    return tuple(Share(name=term.name, u=term.u, why=term.why) for term in terms(one))


def _drift(shunt: str) -> Any:
    return 1 + rectangular(SHUNT_DRIFT, f"{shunt} since", "50 ppm/K over 10 K")


def _fast(observed: Observed, base: Calibration, amps: _Amps) -> Channel:
    """The fast converter held against the calibrated shunt, by a straight line through two currents."""
    if len(observed.amps) < 2:
        return base.coil_fast
    low, high = sorted(observed.amps, key=lambda one: one.shunt)[:: len(observed.amps) - 1]
    span = _counts(high.fast, "fast converter") - _counts(low.fast, "fast converter")
    gain = (amps.amps(high.shunt) - amps.amps(low.shunt)) / span
    zero = high.fast - nominal_value(amps.amps(high.shunt)) / nominal_value(gain)
    u_gain = (float(gain.std_dev / nominal_value(gain)) ** 2 + SUPPLY_DRIFT**2 / 3) ** 0.5
    why = "calibrated against the coil shunt; 5 V supply may drift"
    return base.coil_fast.model_copy(
        update={"gain": nominal_value(gain), "zero": zero, "u_gain": u_gain, "u_zero": 1.0, "why": why}
    )


def _setting(observed: Observed, base: Calibration, bus: _Bus) -> Channel:
    """What a count of the DAC gives, by the line through the lowest and the highest point."""
    if len(observed.volts) < 2:
        return base.coil_set
    low, high = min(observed.volts, key=lambda one: one.dac), max(observed.volts, key=lambda one: one.dac)
    gain = nominal_value(bus.volts(high.bus) - bus.volts(low.bus)) / (high.dac - low.dac)
    zero = high.dac - nominal_value(bus.volts(high.bus)) / gain
    why = "calibrated; the 5 V supply may drift"
    return Channel(gain=gain, zero=zero, u_gain=SUPPLY_DRIFT / ROOT3, u_zero=DAC_BEND_COUNTS / ROOT3, why=why)


def _contact(observed: Observed, base: Calibration) -> tuple[Channel, Channel]:
    """Contact volts and load amps. Only their ratio counts for a contact's drop, and the low resistor gives just that:
    the converter's gain, common to both, cancels."""
    converter = Share(name="ADS1115 gain", u=base.drop.u_gain, why=OF_SHEET)
    gain = base.drop.gain * (1 + SERIES_LOSS)
    drop = base.drop.model_copy(update={"gain": gain, "u_gain": 0.0, "shares": (converter,)})
    one = uncertain(1.0, 0.01 / ROOT3, "load shunt", "5 mohm 1 %")
    drop_zero, load_zero = observed.contact_zero or (0.0, 0.0)
    if observed.contact and observed.contact_resistor:
        point, ohm = observed.contact, reference(observed.contact_resistor)
        ohm += BLADES_OHM / 2 + rectangular(BLADES_OHM / 2, "blades", "clips and blades in series with the resistor")
        volts = (_counts(point.drop, "contact volts") - drop_zero) * drop.gain * GAIN_FACTOR[point.gain]
        if point.gain != 5:
            volts *= 1 + rectangular(RANGE_MATCH, "range", "gain from range to range")
        counts = _counts(point.shunt, "load amps") - _counts(load_zero, "load zero")
        one = weighed(one, volts / ohm / (counts * base.load.gain) * _drift("load shunt"))
    load = _channel(base.load, one, None)
    load = load.model_copy(update={"shares": (converter, *load.shares)})
    if observed.contact_zero:
        u_zero = (NOISE_COUNTS**2 + 0.25 + EMF_COUNTS**2 / 3) ** 0.5
        drop = drop.model_copy(update={"zero": drop_zero, "u_zero": u_zero, "why": "zero by the shorting link"})
        load = load.model_copy(update={"zero": load_zero, "u_zero": u_zero})
    return drop, load


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
    u = ((2**0.5 * CLOCK_S / computer_s) ** 2 + (COMPUTER**2 + RESONATOR_DRIFT**2) / 3) ** 0.5
    measured = uncertain(computer_s / board_s, u, "clock", "board against computer")
    one = weighed(uncertain(1.0, base.tick.u_gain, "resonator", OF_SHEET), measured)
    why = f"against the computer over {computer_s:.0f} s; resonator drifts with temperature"
    return base.tick.model_copy(
        update={"gain": nominal_value(one) / TICKS_PER_S, "u_gain": float(one.std_dev), "why": why}
    )
