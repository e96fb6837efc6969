"""What a count is worth where nobody calibrates: the dividers and ranges of the circuit, each once.

Rule: channels that a calibration knows are not here. Values are those of hardware/circuit.yaml.
"""

from pulldrop.model.raw import Capture, ScanCounts

SUM = 16
"""Conversions in one answer of a slow channel."""
ADC_V = 5.0 / 1024
"""Volts at a pin per count of the board's own converter, 5 V reference."""
LOW_SIDE_OHM, LOW_SIDE_FOOT_OHM = 104.7e3, 4.7e3
"""From 85 to ground, and the part of it before the converter."""
LOW_SIDE_GAIN = ADC_V * LOW_SIDE_OHM / LOW_SIDE_FOOT_OHM
"""Volts at 85 per count."""
LOW_SIDE_SHARE = 0.054
"""How well that is known, either way: the 5 V within 4 %, two resistors of 1 %; not calibrated."""
BENCH_CLAMP_V = 56.0
"""From here on what holds 85 is the bench's own clamp: 68 V, less 5 % of its own and LOW_SIDE_SHARE, and the supply."""
CLAMP_MOST_V = 85.0
"""More than that clamp lets through: 68 V and 5 %, its own ohms, and LOW_SIDE_SHARE; Q3 breaks down at 100 V."""
OWN_DIODE_MOST_V = 3.0
"""Above the supply at 85, with a diode in the part: a silicon diode takes about 0.7 V (common practice)."""
LOAD_OHM, LOAD_FOOT_OHM = 12.7e3, 2.7e3
"""From the branches to ground, and the part of it before the converter."""
LOAD_SUPPLY_GAIN = ADC_V * LOAD_OHM / LOAD_FOOT_OHM
"""Volts at the branches per count."""

FULL_SCALE, DRIVEN_V, SUNK_V, LOOK_V = 32768, 0.512, 0.256, 6.144
"""Counts of the scan's converter, and volts of its ranges as the firmware sets them (firmware/core/measure/scan.c)."""
END_OHM = 100.0
"""Resistors at either end of the scan, by which its amps are seen."""


def sunk_a(counts: ScanCounts) -> float:
    """Amps into the sink of a full build's scan."""
    return counts.sunk * SUNK_V / FULL_SCALE / END_OHM


def driven_a(counts: ScanCounts) -> float:
    """Amps out of the source of a full build's scan."""
    return -counts.driven * DRIVEN_V / FULL_SCALE / END_OHM


def peak_v(capture: Capture) -> float:
    """The highest volts of the low end; with a resistor across the coil the peak may last for one sample only."""
    return LOW_SIDE_GAIN * max(capture.samples)
