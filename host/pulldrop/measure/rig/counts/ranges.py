"""The ranges of the contact converter: what a count of each is worth against one of the most sensitive.

Rule: gains are calibrated at 256 mV; every other range carries its own doubt against that one.
"""

from typing import Any

from pulldrop.measure.rig.counts.budget import ChannelScale, rectangular

GAIN_FACTOR = {5: 1, 4: 2, 3: 4, 2: 8, 1: 16}
"""Full scale of a range code over 256 mV."""
GAINS = tuple(GAIN_FACTOR)
"""Range codes from the most sensitive on, 256 mV to 4.096 V; each has twice the range of the one before."""
FINEST = GAINS[0]
ZERO_COUNTS, ZERO_CODE = 3.0, 2
"""The converter's zero at most, and the range that its maker states it for (ADS1115 data sheet, from memory)."""
BEND_COUNTS = 1.0
"""Its integral nonlinearity at most, at the same range (ADS1115 data sheet)."""
FULL = 32_700
"""Counts from which on a range counts as full; the converter ends at 32767."""
PAIR_MS = 2.5
"""One conversion of the drop and one of the load shunt, at 860 samples a second each, with their bus traffic."""
MOST_PAIRS = 12
"""So many pairs fit into one request."""
SERIES_OHM = 1140.0
"""Before the converter's inputs."""
INPUT_OHM = {5: 710e3, 4: 710e3, 3: 2.4e6, 2: 4.9e6, 1: 15e6}
"""Its differential input resistance by range code (ADS1115 data sheet, typical)."""
SERIES_LOSS = SERIES_OHM / INPUT_OHM[5]
"""What it takes from the volts before the series resistors at 256 mV."""
RANGE_MATCH = 0.001
"""Gain of one range against another, at most (ADS1115 data sheet: 0.1 %)."""


def of_range(code: int) -> Any:
    """What the calibrated gain at 256 mV is multiplied by, with its budget."""
    series = (1 + SERIES_OHM / INPUT_OHM[code]) / (1 + SERIES_LOSS)
    match = rectangular(RANGE_MATCH, "range", "gain of one range against another")
    return GAIN_FACTOR[code] * series * (1 + (code != FINEST) * match)


def range_zero(code: int) -> Any:
    """Counts of a wider range at 0 V, with budget: calibrated is the zero at 256 mV, and each range has its own."""
    least = max(GAIN_FACTOR[ZERO_CODE] / GAIN_FACTOR[code], 1.0)
    return rectangular(ZERO_COUNTS * least, "range zero", "ADS1115: 3 counts at 2.048 V")


def bend(counts: float, code: int, what: str) -> Any:
    """Zero counts, known to what a range may stand off a straight line at `counts`; the limit in volts holds for finer
    ranges too.

    Near zero, from where counts are read, it is less: a converter of this kind is bent smoothly, and a cubic that keeps
    within the limit stays below 4 p (1 - p) of it at the share p of the range, up to its half (assumed).
    """
    place = min(abs(counts) / 32768, 0.5)
    limit = BEND_COUNTS * max(GAIN_FACTOR[ZERO_CODE] / GAIN_FACTOR[code], 1.0)
    return rectangular(limit * 4 * place * (1 - place), f"{what} bend", "ADS1115: nonlinearity of 1 count at 2.048 V")


def drop_v(scale: ChannelScale, counts: float, code: int) -> Any:
    """Volts of a contact from counts of one range, with budget."""
    seen = counts + bend(counts, code, "contact volts")
    return scale(seen) if code == FINEST else scale.span(seen - range_zero(code)) * of_range(code)


def load_a(scale: ChannelScale, counts: float) -> Any:
    """Load amps from counts of the shunt, with budget."""
    return scale(counts + bend(counts, FINEST, "load amps"))
