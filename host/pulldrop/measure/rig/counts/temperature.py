"""Bench temperature from the NTC's counts."""

import math

from pulldrop.measure.rig.counts.channels import SUM

BETA_K = 3950.0
"""Of the thermistor (hardware/catalogue.yaml)."""
T25_K = 298.15
ZERO_C_K = 273.15
FULL_SUM = SUM * 1024
"""Of 16 conversions of 10 bits."""
CUT = SUM / 2
"""The converter cuts to whole counts: half a count is missing from each conversion on average, 0.04 K."""
PLAUSIBLE_C = (-20.0, 60.0)
"""Where somebody may be at work at a bench, and a thermistor be whole (common practice)."""


def from_sum(total: int, offset_k: float = 0.0) -> float | None:
    """Sum of 16 conversions of a 10 kohm B3950 thermistor to ground, 10 kohm to 5 V -> degC.

    R = R25 exp(B (1/T - 1/T25)), the thermistor maker's B equation; `offset_k` comes from the calibration. None when
    the thermistor is missing, shorted, or reads a temperature at which nobody works at a bench.
    """
    if not 0 < total < FULL_SUM - CUT:
        return None
    whole = total + CUT
    ratio = whole / (FULL_SUM - whole)
    celsius = 1.0 / (1.0 / T25_K + math.log(ratio) / BETA_K) - ZERO_C_K + offset_k
    return celsius if PLAUSIBLE_C[0] <= celsius <= PLAUSIBLE_C[1] else None
