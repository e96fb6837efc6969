"""The bench's parts as they are and not as they are drawn: every gain and offset, drawn once from the seed.

A perfect bench (no seed) has them all at their nominal values and no noise, but all its quantisation. Figures from
data sheets are from memory of those sheets; where a maker gives no limit the figure is assumed and says so.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property

from pulldrop.plant.noise import Chance
from pulldrop.plant.relay.suppression import NOMINAL, TVS_V, Harness

ADC_V = 5.0
ADC_STEPS = 1024
DAC_GAIN = 6.0
SUPPLY_MOST_V = 29.0
FAST_SHUNT_OHM, FAST_GAIN = 0.82, 20.0
INA_SHUNT_OHM, INA_BUS_V, INA_SHUNT_V = 0.1, 1.25e-3, 2.5e-6
INA_BUS_OHM = 830e3
"""Bus input of the INA226; what it draws flows through the shunt (data sheet, typical; taken as known to 20 %)."""
INA_COMMON = 0.5e-6
"""Volts that the INA226's shunt input shows of each volt on both its inputs, at most (126 dB, TI SBOS547)."""
LOAD_V = 12.0
LOAD_SHUNT_OHM = 0.005
BRANCH_OHM = (12.0, 2.4, 1.2, 0.6)
ADS_FULL_V = {1: 4.096, 2: 2.048, 3: 1.024, 4: 0.512, 5: 0.256}
ADS_OHM = {1: 15e6, 2: 4.9e6, 3: 2.4e6, 4: 710e3, 5: 710e3}
"""Differential input of the ADS1115 by gain code (data sheet, typical); it loads the resistors before it."""
SENSE_BIAS_V = 5.0 / 10e6 * 470.0
"""By which R44 to R46 lift each sense wire's input over R31, R33 and R35: the differences of the three are left."""
NTC_OHM, NTC_B_K, NTC_AT_K = 10e3, 3950.0, 298.15
LOAD_DIVIDER, LOW_SIDE_DIVIDER = 2.7 / 12.7, 4.7 / 104.7
FET_OHM, WIRE_OHM = 0.053, 0.01
"""On the coil's low side besides the shunt: logic-level MOSFET within +-25 % from cold to hot, and wire within +-10
mohm."""
SEAT_OHM = 0.03e-3
"""By which a clip's resistance differs from seating to seating, either way (assumed)."""
ROOM_C = 22.5
"""At which the parts have the values that are drawn."""
NO, NC, SHUNT = 0, 1, 2
ADS_ZERO_COUNTS, ADS_ZERO_RANGE_V = 3.0, 2.048
"""Limit of the ADS1115's zero, and the range that it is stated for; in volts it is taken for finer ranges too."""
ADS_BEND_V = 2.048 / 32768
"""Integral nonlinearity of the ADS1115, at most: 1 count of that range, in volts in the finer ones too."""


@dataclass(frozen=True, slots=True)
class Warming:
    """A shunt that its own current heats: kelvin per watt into the air, and the time constant of that (assumed)."""

    ohm: float
    k_per_w: float
    tau_s: float

    def rise_k(self, from_k: float, amps: float, seconds: float) -> float:
        """Rise after a time at one current."""
        to = amps * amps * self.ohm * self.k_per_w
        return to + (from_k - to) * math.exp(-seconds / self.tau_s)


FAST_SHUNT = Warming(FAST_SHUNT_OHM, k_per_w=110.0, tau_s=10.0)
"""0.82 ohm, 1 W axial."""
LOAD_SHUNT = Warming(LOAD_SHUNT_OHM, k_per_w=20.0, tau_s=15.0)
"""5 mohm, 5 W bare element: 2 W at 20 A, a quarter of a kelvin in a pulse of 100 ms."""


@dataclass(frozen=True)
class Frontend:
    """Relative errors of gain, offsets in the unit named, noise as standard deviations. Sources at `drawn`."""

    harness: Harness = NOMINAL
    vcc: float = 0.0
    dac_gain: float = 0.0
    dac_zero_counts: float = 0.0
    dac_bow_counts: float = 0.0
    dac_step_counts: float = 0.0
    dac_pattern: int = 0
    adc_zero_counts: float = 0.0
    adc_bow_counts: float = 0.0
    fast_shunt: float = 0.0
    fast_shunt_per_k: float = 0.0
    fast_gain: float = 0.0
    fast_zero_v: float = 0.0
    ina_bus_gain: float = 0.0
    ina_bus_zero_v: float = 0.0
    ina_bus_siemens: float = 1 / INA_BUS_OHM
    ina_common: float = 0.0
    ina_shunt_gain: float = 0.0
    ina_shunt_zero_v: float = 0.0
    ina_shunt_per_k: float = 0.0
    ads_gain: float = 0.0
    ads_match: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)
    ads_zero_v: tuple[float, float, float, float, float, float] = (0.0,) * 6
    ads_bend_v: float = 0.0
    ads_series_ohm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    thermal_emf_v: tuple[float, float, float] = (0.0, 0.0, 0.0)
    bias_v: tuple[float, float, float] = (0.0, 0.0, 0.0)
    load_shunt: float = 0.0
    load_shunt_per_k: float = 0.0
    load_supply: float = 0.0
    branches: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    clip_ohm: tuple[float, float] = (0.0, 0.0)
    ntc_k: float = 0.0
    tick: float = 0.0
    tick_per_k: float = 0.0
    temperature_c: float = 23.0
    noise: float = 0.0

    def at(self, temperature_c: float) -> "Frontend":
        """The same parts in a room of another temperature: shunts and resonator move with it."""
        kelvin = temperature_c - self.temperature_c
        return replace(
            self,
            temperature_c=temperature_c,
            ina_shunt_gain=self.ina_shunt_gain + self.ina_shunt_per_k * kelvin,
            load_shunt=self.load_shunt + self.load_shunt_per_k * kelvin,
            tick=self.tick + self.tick_per_k * kelvin,
        )

    def seated(self, chance: Chance | None) -> "Frontend":
        """The clips as one seating leaves them; none on a perfect bench."""
        if chance is None:
            return self
        no, nc = self.clip_ohm
        return replace(self, clip_ohm=(no + chance.within(SEAT_OHM), nc + chance.within(SEAT_OHM)))

    @cached_property
    def vcc_v(self) -> float:
        """The 5 V supply: reference of the converter and of the DAC."""
        return ADC_V * (1 + self.vcc)

    @property
    def load_supply_v(self) -> float:
        """The load supply of 12 V."""
        return LOAD_V * (1 + self.load_supply)

    # --- what the board drives ---

    def coil_v(self, code: int) -> float:
        """Volts of the coil supply for a DAC code; the DAC's reference is the 5 V supply."""
        if code <= 0:
            return 0.0
        full = self.vcc_v * DAC_GAIN * (1 + self.dac_gain)
        at = code + self.dac_zero_counts + self._dac_bend(code)
        return min(max(full * at / 4096, 0.0), SUPPLY_MOST_V)

    def _dac_bend(self, code: int) -> float:
        """Counts by which a code stands off the straight line: a bow, and each step a little long or short."""
        place = code / 4096
        uneven = Chance(self.dac_pattern * 4096 + code).within(self.dac_step_counts) if self.dac_step_counts else 0.0
        return self.dac_bow_counts * 4 * place * (1 - place) + uneven

    # --- what the board sees; `draw` is a normal deviate ---

    def fast_pin_v(self, shunt_a: float, rise_k: float = 0.0) -> float:
        """Pin A0: low-side shunt times 20, as far as the amplifier's 5 V supply lets it."""
        ohm = FAST_SHUNT_OHM * (1 + self.fast_shunt + self.fast_shunt_per_k * rise_k)
        volts = shunt_a * ohm * FAST_GAIN * (1 + self.fast_gain) + self.fast_zero_v
        most = self.vcc_v - 0.03
        return 0.005 if volts < 0.005 else volts if volts < most else most

    def load_shunt_ohm(self, rise_k: float) -> float:
        """The load shunt, warmed by its own current."""
        return LOAD_SHUNT_OHM * (1 + self.load_shunt + self.load_shunt_per_k * rise_k)

    def ntc_pin_v(self, temperature_c: float) -> float:
        """Pin A1: NTC to ground, 10 kohm to the 5 V supply."""
        kelvin = temperature_c + self.ntc_k + 273.15
        ohm = NTC_OHM * math.exp(NTC_B_K * (1 / kelvin - 1 / NTC_AT_K))
        return self.vcc_v * ohm / (ohm + NTC_OHM)

    def adc_error_v(self, pin_v: float, draw: float) -> float:
        """The converter's own error at its pin: zero, bow, and 0.4 counts of noise."""
        place = pin_v / self.vcc_v
        bow = self.adc_bow_counts * 4 * place * (1 - place)
        return (self.adc_zero_counts + bow + 0.4 * self.noise * draw) * ADC_V / ADC_STEPS

    @property
    def conversion_noise_v(self) -> float:
        """Standard deviation of one conversion."""
        return 0.4 * self.noise * ADC_V / ADC_STEPS

    def adc_counts(self, pin_v: float) -> int:
        """10 bits against the 5 V supply."""
        return min(max(math.floor(pin_v / self.vcc_v * ADC_STEPS), 0), ADC_STEPS - 1)

    def ina_counts(self, plus_v: float, supply_a: float, draws: tuple[float, float]) -> tuple[int, int]:
        """INA226: bus volts and shunt volts, averaged."""
        bus = plus_v * (1 + self.ina_bus_gain) + self.ina_bus_zero_v
        amps = supply_a + plus_v * self.ina_bus_siemens
        shunt = amps * INA_SHUNT_OHM * (1 + self.ina_shunt_gain) + self.ina_shunt_zero_v + plus_v * self.ina_common
        return (
            min(max(round(bus / INA_BUS_V + 0.3 * self.noise * draws[0]), 0), 32767),
            min(max(round(shunt / INA_SHUNT_V + 0.5 * self.noise * draws[1]), -32768), 32767),
        )

    def ads_zero_counts(self, gain: int, full_v: float) -> float:
        """Counts that an ADS1115 shows of 0 V in one range."""
        return self.ads_zero_v[gain] / full_v * 32768

    def ads_bent_v(self, volts: float, full_v: float) -> float:
        """Volts by which a range stands off its straight line: a bow to either side of zero."""
        place = min(abs(volts) / full_v, 1.0)
        bow = self.ads_bend_v * max(full_v / ADS_ZERO_RANGE_V, 1.0) * 4 * place * (1 - place)
        return math.copysign(bow, volts * self.ads_bend_v)

    def ads_counts(self, source: int, volts: float, gain: int, draw: float, biased: bool = False) -> int:
        """ADS1115 at 860 samples a second; `source` NO, NC or SHUNT. `biased`: `volts` are those at its inputs,
        with what R44 to R46 feed into the sense wires and what the inputs take from them."""
        seen = volts + self.thermal_emf_v[source]
        if not biased:
            seen = (seen + self.bias_v[source]) / (1 + self.ads_series_ohm[source] / ADS_OHM[gain])
        seen *= 1 + self.ads_gain + self.ads_match[gain - 1]
        seen += self.ads_bent_v(seen, ADS_FULL_V[gain])
        counts = seen / ADS_FULL_V[gain] * 32768 + self.ads_zero_counts(gain, ADS_FULL_V[gain]) + self.noise * draw
        return min(max(round(counts), -32768), 32767)


def _zero_limit(full_v: float) -> float:
    """Volts by which a range of the ADS1115 may be off at 0 V."""
    return ADS_ZERO_COUNTS * max(full_v, ADS_ZERO_RANGE_V) / 32768


def drawn(seed: int | None) -> Frontend:
    """The parts of one bench. Makers' limits, taken as rectangular; typical figures where only those are given:

    5 V of an LM317 with 1 % resistors, +-4 %; MCP4725: gain 2 %, offset 0.75 % of full scale, INL 2 counts, DNL 0.2
    counts (both typical), with an amplifier of 5 mV and resistors of 0.1 %; ATmega328P converter at 500 kHz: 2 counts,
    INL 3; shunts 1 %, 100 ppm/K (0.82 ohm) and 50 ppm/K (the others); INA180A1: 1 %, 500 uV; INA226: 0.1 %, 7.5 mV,
    10 uV, 0.5 uV for each volt of the coil's supply; ADS1115: 0.15 %, 0.1 % from range to range, the zero of each range
    188 uV (3 counts from 2.048 V on), bent by 62.5 uV (1 count, the same), noise one count at 860 samples a second,
    1140 ohm before its inputs; thermal EMF 5 uV (copper against tinned brass, 2 K,
    assumed); TVS 5 %; coil leads with clips 10 to 40 mohm (assumed); ceramic resonator 0.5 %, 0.25 % over 50 K; load
    resistors 5 %; NTC and its resistor 1 %, about 0.33 K; sense wires biased through 1 % parts, 470 ohm and 10 Mohm.
    A clip of the socket has 0.05 to 0.15 mohm against its blade (assumed); the sense wire sits on the clip, so that
    four-wire sensing takes out leads and not this.
    """
    if seed is None:
        return Frontend()
    chance = Chance(seed ^ 0xBE0C4)
    volts_on = Chance(seed ^ 0xC0DE).within
    w, drift, zeros = chance.within, Chance(seed ^ 0xD21F7).within, Chance(seed ^ 0x2E20)

    def zero(full_v: float) -> float:
        return zeros.within(_zero_limit(full_v))

    bias = [SENSE_BIAS_V * (fed(0.01) + fed(0.01)) for fed in [Chance(seed ^ 0xB1A5).within] for _ in range(3)]
    fast_shunt = w(0.01)
    low_side = FAST_SHUNT_OHM * (1 + fast_shunt) + FET_OHM * (1 + w(0.25)) + WIRE_OHM + w(WIRE_OHM)
    return Frontend(
        harness=Harness(switch_ohm=low_side, lead_ohm=0.025 + w(0.015), tvs_v=TVS_V * (1 + w(0.05))),
        vcc=0.002 + w(0.04),
        dac_gain=w(0.02) + w(0.001),
        dac_zero_counts=w(0.0075 * 4096) + w(4.1),
        dac_bow_counts=w(2.0),
        dac_step_counts=0.2,
        dac_pattern=seed,
        adc_zero_counts=w(2.0),
        adc_bow_counts=w(3.0),
        fast_shunt=fast_shunt,
        fast_shunt_per_k=w(100e-6),
        fast_gain=w(0.01),
        fast_zero_v=w(500e-6) * FAST_GAIN,
        ina_bus_gain=w(0.001),
        ina_bus_zero_v=w(7.5e-3),
        ina_bus_siemens=(1 + volts_on(0.2)) / INA_BUS_OHM,
        ina_common=volts_on(INA_COMMON),
        ina_shunt_gain=w(0.01) + w(0.001),
        ina_shunt_zero_v=w(10e-6),
        ads_gain=w(0.0015),
        ads_match=(w(0.0005), w(0.0005), w(0.0005), w(0.0005), 0.0),
        ads_zero_v=(zero(6.144), zero(4.096), zero(2.048), zero(1.024), zero(0.512), w(_zero_limit(0.256))),
        ads_bend_v=Chance(seed ^ 0xB0B0).within(ADS_BEND_V),
        ads_series_ohm=(1140 * (1 + w(0.03)), 1140 * (1 + w(0.03)), 100.0),
        thermal_emf_v=(w(5e-6), w(5e-6), w(5e-6)),
        bias_v=(bias[NO] - bias[2], bias[NC] - bias[2], 0.0),
        load_shunt=w(0.01),
        load_shunt_per_k=w(50e-6),
        load_supply=w(0.02),
        branches=(w(0.05), w(0.05), w(0.05), w(0.05)),
        clip_ohm=(0.2e-3 + w(0.1e-3), 0.2e-3 + w(0.1e-3)),
        ntc_k=w(0.33),
        tick=w(0.005),
        temperature_c=ROOM_C,
        noise=1.0,
        ina_shunt_per_k=drift(50e-6),
        tick_per_k=drift(50e-6),
    ).at(ROOM_C + w(2.5))
