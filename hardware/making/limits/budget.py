"""Error of each measuring channel by Monte Carlo over the tolerances of its parts; exported as channel_errors.yaml.

Rule: a maker's limit is a rectangular distribution (GUM 4.3.7); part tolerances come from the catalogue, limits of
the converters from their data sheets as named below. The host's uncalibrated bench must agree with these figures.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from making.circuit import Circuit
from making.limits.worst import ohm
from making.lists import MADE

Draws = npt.NDArray[np.float64]
DRAWS = 40_000
ADS_ZERO_V = 3 * 2.048 / 32768
"""ADS1115: 3 counts at +-2.048 V is its maker's only limit (SBAS444): in volts it holds for the finer ranges too."""
ADS_BEND_V = 2.048 / 32768
"""ADS1115: integral nonlinearity, 1 count at +-2.048 V; in volts it holds for the finer ranges too (the same)."""
INA_COMMON = 0.5e-6
"""INA226: volts that its shunt input shows of each volt on both its inputs, at most (126 dB, SBOS547)."""
COIL_V = 24.0
ADC_COUNTS = 3.0
"""ATmega328P's converter at 500 kHz: between its 2 counts at 200 kHz and 4.5 at 1 MHz (absolute, from memory)."""
INA_BIAS_A = 10e-6
"""INA226: current into each of its inputs (typical, from memory); what R25 and R26 differ by turns it into volts."""
ADS_OHM = 710e3
"""Differential input of the ADS1115 at +-256 mV, typical; taken as known to 20 %."""
KELVIN = 273.15


@dataclass(frozen=True)
class Error:
    """A channel: unit a count, relative standard uncertainty of that, standard uncertainty of zero in counts."""

    name: str
    unit: str
    gain: float
    u_gain: float
    u_zero: float
    zero: float
    why: str


class Draw:
    """Random parts of one circuit, the same for the same seed."""

    def __init__(self, circuit: Circuit, seed: int = 20261125) -> None:
        self.circuit, self.random = circuit, np.random.Generator(np.random.PCG64(seed))

    def within(self, limit: float) -> Draws:
        """Rectangular, +-limit."""
        return (2 * self.random.random(DRAWS) - 1) * limit

    def between(self, low: float, high: float) -> Draws:
        """Rectangular between two ends."""
        return low + (high - low) * self.random.random(DRAWS)

    def ohm(self, ref: str) -> Draws:
        """Resistance of a part within its tolerance."""
        return ohm(self.circuit, ref) * (1 + self.within(self.circuit[ref].type.number("tol")))


def _error(name: str, unit: str, gain: Draws, zero: Draws, why: str) -> Error:
    mean = float(gain.mean())
    return Error(name, unit, mean, float(gain.std()) / mean, float(zero.std()), float(zero.mean()), why)


def rail(draw: Draw) -> Draws:
    """The 5 V rail of U1."""
    low, _, high = draw.circuit["U1"].type.bounds("vref")
    least, _, most = draw.circuit["U1"].type.bounds("adj_a")
    return draw.between(low, high) * (1 + draw.ohm("R2") / draw.ohm("R1")) + draw.between(least, most) * draw.ohm("R2")


def coil_set(draw: Draw) -> Error:
    """Volts a DAC count. MCP4725: gain 2 %, offset 0.75 % of full scale, INL 2 counts; amplifier offset 5 mV."""
    amplifier = (1 + draw.ohm("R11") / draw.ohm("R12")) / (1 + draw.ohm("R97") / draw.ohm("R10"))
    gain = rail(draw) * (1 + draw.within(0.02)) * amplifier / 4096
    zero = draw.within(0.0075 * 4096) + draw.within(2.0) + draw.within(5e-3 / 5 * 4096)
    return _error("coil_set", "V", gain, zero, "U1, R1, R2, MCP4725, R10 to R12, R97, U4")


def coil_bus(draw: Draw) -> Error:
    """Volts a count. INA226: 0.1 %, 7.5 mV."""
    return _error("coil_bus", "V", 1.25e-3 * (1 + draw.within(0.001)), draw.within(7.5e-3) / 1.25e-3, "INA226")


def coil_shunt(draw: Draw) -> Error:
    """Amps a count, its zero with the coil's supply at 0 V. INA226: 0.1 %, 10 uV."""
    gain = 2.5e-6 * (1 + draw.within(0.001)) / draw.ohm("R17")
    bias = INA_BIAS_A * (draw.ohm("R25") - draw.ohm("R26"))
    zero = (draw.within(10e-6) + bias) / 2.5e-6
    return _error("coil_shunt", "A", gain, zero, "R17, INA226, R25, R26")


def coil_common(draw: Draw) -> Error:
    """By how much that zero moves when the supply goes to 24 V: common mode of the INA226, and what its bus input (830
    kohm typical, taken as known to 20 %) draws through R17."""
    ohm = draw.circuit["R17"].type.number("ohm")
    drawn = COIL_V / 830e3 * (1 + draw.within(0.2))
    zero = (drawn * ohm + COIL_V * draw.within(INA_COMMON)) / 2.5e-6
    return _error("coil_common", "A", np.array([2.5e-6 / ohm]), zero, "INA226 at 24 V, R17")


def coil_fast(draw: Draw) -> Error:
    """Amps a count of the 10-bit converter. INA180A1: gain 1 %, 500 uV; converter at 500 kHz."""
    vcc = rail(draw)
    amplifier = draw.circuit["U6"].type.number("gain") * (1 + draw.within(draw.circuit["U6"].type.number("gain_tol")))
    gain = vcc / 1024 / (draw.ohm("R18") * amplifier)
    zero = draw.within(ADC_COUNTS) + draw.within(500e-6) * 20 / vcc * 1024
    return _error("coil_fast", "A", gain, zero, "U1, R18, INA180A1, converter")


def low_side(draw: Draw) -> Error:
    """Ohms between coil and ground: R18, Q3 from cold to hot, 0 to 20 mohm of wire."""
    ron = draw.circuit["Q3"].type.number("ron")
    total = draw.ohm("R18") + draw.between(0.75 * ron, 1.25 * ron) + draw.between(0.0, 0.02)
    return _error("low_side", "ohm", total, np.zeros(1), "R18, Q3, wire")


def drop(draw: Draw) -> Error:
    """Volts a count at +-256 mV. ADS1115: 0.15 %, 188 uV; its input loads the series resistors, and what R44 and R46
    feed into both sense wires leaves the difference of their series resistors."""
    series = draw.ohm("R31") + draw.ohm("R32") + draw.ohm("R35") + draw.ohm("R36")
    gain = 0.256 / 32768 * (1 + draw.within(0.0015)) * (1 + series / (ADS_OHM * (1 + draw.within(0.2))))
    leak = draw.circuit["D30"].type.number("leak_a")
    lost = (draw.within(leak) - draw.within(leak)) * ohm(draw.circuit, "R31")
    fed = 5.0 * (draw.ohm("R31") / draw.ohm("R44") - draw.ohm("R35") / draw.ohm("R46"))
    zero = (draw.within(ADS_ZERO_V) + lost + fed) / (0.256 / 32768)
    return _error("drop", "V", gain, zero, "ADS1115, R31, R32, R35, R36, R44, R46, D30, D32")


def load(draw: Draw) -> Error:
    """Amps a count at +-256 mV. ADS1115: 0.15 %, 188 uV."""
    gain = 0.256 / 32768 * (1 + draw.within(0.0015)) * (1 + draw.ohm("R37") / ADS_OHM) / draw.ohm("R30")
    return _error("load", "A", gain, draw.within(ADS_ZERO_V) / (0.256 / 32768), "R30, ADS1115, R37")


def ads_bend(draw: Draw) -> Error:
    """Volts a count at +-256 mV: by how much drop and load shunt stand off a straight line, at most."""
    count = 0.256 / 32768
    return _error("ads_bend", "V", np.array([count]), draw.within(ADS_BEND_V) / count, "ADS1115")


def tick(draw: Draw) -> Error:
    """Seconds a tick of Timer1. Ceramic resonator 0.5 %."""
    return _error("tick", "s", 0.5e-6 * (1 + draw.within(0.005)), draw.between(-0.5, 0.5), "resonator of the Nano")


def vehicle(draw: Draw) -> Error:
    """Volts a count at +-4.096 V. ADS1115: 0.15 %, 3 counts."""
    gain = 4.096 / 32768 * (1 + draw.within(0.0015)) * (1 + draw.ohm("R111") / draw.ohm("R115"))
    return _error("vehicle", "V", gain, draw.within(3.0), "R111, R115, ADS1115")


def temperature(draw: Draw) -> Error:
    """Kelvin at 10 to 35 degC; the converter is ratiometric, 1 count."""
    ntc = draw.circuit["TH1"].type
    kelvin = draw.between(10, 35) + KELVIN
    beta = ntc.number("beta") * (1 + draw.within(ntc.number("beta_tol")))
    bead = ntc.number("ohm") * (1 + draw.within(ntc.number("tol"))) * np.exp(beta * (1 / kelvin - 1 / 298.15))
    share = bead / (bead + draw.ohm("R8")) + draw.within(1 / 1024)
    seen = 1 / (np.log(share / (1 - share)) / ntc.number("beta") + 1 / 298.15)
    return _error("temperature", "K", np.ones(1), seen - kelvin, "TH1, R8, converter")


def errors(circuit: Circuit) -> list[Error]:
    """Every channel, each from its own draw."""
    coil = (coil_set, coil_bus, coil_shunt, coil_common, coil_fast, low_side)
    channels = (*coil, drop, load, ads_bend, tick, vehicle, temperature)
    return [channel(Draw(circuit)) for channel in channels]


def text(circuit: Circuit) -> str:
    """channel_errors.yaml."""
    lines = [
        f"# {MADE}",
        f"# Monte Carlo of {DRAWS} benches; every maker's limit as a rectangular distribution, nothing calibrated.",
        "# gain: unit a count; u_gain: relative standard uncertainty; zero, u_zero: counts (kelvin for temperature).",
        "channels:",
    ]
    for e in errors(circuit):
        figures = f"gain: {e.gain:.4g}, u_gain: {e.u_gain:.2g}, zero: {e.zero:.1f}, u_zero: {e.u_zero:.2g}"
        lines.append(f'  {e.name}: {{unit: {e.unit}, {figures}, why: "{e.why}"}}')
    return "\n".join(lines) + "\n"
