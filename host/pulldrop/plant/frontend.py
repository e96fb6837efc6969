"""The bench's parts as they are and not as they are drawn: every gain and offset, drawn once from the seed.

A perfect bench (no seed) has them all at their nominal values and no noise.
"""

import math
from dataclasses import dataclass

from pulldrop.plant.noise import Chance

ADC_V = 5.0
ADC_STEPS = 1024
DAC_GAIN = 6.0
SUPPLY_MOST_V = 29.0
FAST_SHUNT_OHM, FAST_GAIN = 0.82, 20.0
INA_SHUNT_OHM, INA_BUS_V, INA_SHUNT_V = 0.1, 1.25e-3, 2.5e-6
LOAD_V = 12.0
LOAD_SHUNT_OHM = 0.005
BRANCH_OHM = (12.0, 2.4, 1.2, 0.6)
ADS_FULL_V = {1: 4.096, 2: 2.048, 3: 1.024, 4: 0.512, 5: 0.256}
NTC_OHM, NTC_B_K, NTC_AT_K = 10e3, 3950.0, 298.15
LOAD_DIVIDER, LOW_SIDE_DIVIDER = 2.7 / 12.7, 4.7 / 104.7


@dataclass(frozen=True, slots=True)
class Frontend:
    """Relative errors of gain, offsets in the unit named, noise as standard deviations. Sources at `drawn`."""

    vcc: float = 0.0
    dac_gain: float = 0.0
    dac_zero_counts: float = 0.0
    fast_gain: float = 0.0
    fast_zero_v: float = 0.0
    ina_bus_gain: float = 0.0
    ina_bus_zero_v: float = 0.0
    ina_shunt_gain: float = 0.0
    ina_shunt_zero_v: float = 0.0
    ads_gain: float = 0.0
    ads_zero_counts: float = 0.0
    load_shunt: float = 0.0
    load_supply: float = 0.0
    branches: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    thermal_emf_v: float = 0.0
    ntc_k: float = 0.0
    tick: float = 0.0
    temperature_c: float = 23.0
    noise: float = 0.0

    @property
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
        return min(max(full * (code + self.dac_zero_counts) / 4096, 0.0), SUPPLY_MOST_V)

    # --- what the board sees; `draw` is a normal deviate ---

    def fast_pin_v(self, shunt_a: float) -> float:
        """Pin A0: low-side shunt times 20, as far as the amplifier's 5 V supply lets it."""
        volts = shunt_a * FAST_SHUNT_OHM * FAST_GAIN * (1 + self.fast_gain) + self.fast_zero_v
        return min(max(volts, 0.005), self.vcc_v - 0.03)

    def ntc_pin_v(self, temperature_c: float) -> float:
        """Pin A1: NTC to ground, 10 kohm to the 5 V supply."""
        kelvin = temperature_c + self.ntc_k + 273.15
        ohm = NTC_OHM * math.exp(NTC_B_K * (1 / kelvin - 1 / NTC_AT_K))
        return self.vcc_v * ohm / (ohm + NTC_OHM)

    def adc_noise_v(self, draw: float) -> float:
        """0.4 counts of noise at the converter."""
        return 0.4 * self.noise * draw * ADC_V / ADC_STEPS

    def adc_counts(self, pin_v: float) -> int:
        """10 bits against the 5 V supply."""
        return min(max(math.floor(pin_v / self.vcc_v * ADC_STEPS), 0), ADC_STEPS - 1)

    def ina_counts(self, plus_v: float, supply_a: float, draws: tuple[float, float]) -> tuple[int, int]:
        """INA226: bus volts and shunt volts, averaged."""
        bus = plus_v * (1 + self.ina_bus_gain) + self.ina_bus_zero_v
        shunt = supply_a * INA_SHUNT_OHM * (1 + self.ina_shunt_gain) + self.ina_shunt_zero_v
        return (
            min(max(round(bus / INA_BUS_V + 0.3 * self.noise * draws[0]), 0), 32767),
            min(max(round(shunt / INA_SHUNT_V + 0.5 * self.noise * draws[1]), -32768), 32767),
        )

    def ads_counts(self, volts: float, gain: int, draw: float) -> int:
        """ADS1115 at 860 samples a second."""
        counts = volts * (1 + self.ads_gain) / ADS_FULL_V[gain] * 32768 + self.ads_zero_counts + self.noise * draw
        return min(max(round(counts), -32768), 32767)


def drawn(seed: int | None) -> Frontend:
    """The parts of one bench. Limits of the data sheets, taken as rectangular:

    5 V from USB +-5 % (USB 2.0, 7.3.2); MCP4725 offset and gain resistors of 0.1 %; INA180A1 gain +-1 %, 150 uV,
    shunts 1 %; INA226 0.1 % gain, 7.5 mV bus and 10 uV shunt offset; ADS1115 0.15 % gain, 3 counts offset, noise
    one count of 7.8 uV at 860 samples a second; ceramic resonator 0.5 %; load resistors 5 %; NTC 1 %, about 0.25 K.
    """
    if seed is None:
        return Frontend()
    chance = Chance(seed ^ 0xBE0C4)
    w = chance.within
    return Frontend(
        vcc=w(0.04),
        dac_gain=w(0.002),
        dac_zero_counts=w(2.0),
        fast_gain=w(0.014),
        fast_zero_v=w(3e-3),
        ina_bus_gain=w(0.001),
        ina_bus_zero_v=w(7.5e-3),
        ina_shunt_gain=w(0.0101),
        ina_shunt_zero_v=w(10e-6),
        ads_gain=w(0.0015),
        ads_zero_counts=w(3.0),
        load_shunt=w(0.01),
        load_supply=w(0.02),
        branches=(w(0.05), w(0.05), w(0.05), w(0.05)),
        thermal_emf_v=w(5e-6),
        ntc_k=w(0.4),
        tick=w(0.005),
        temperature_c=22.5 + w(2.5),
        noise=1.0,
    )
