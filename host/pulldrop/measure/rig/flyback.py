"""What takes the coil's energy at switch-off: how far the coil's low end flies above the supply, and what held it.

The bench's own clamp ends every spike at 68 V; below it, what is inside the part shows. A resistor across the coil
and nothing at all both reach the bench's clamp, and cannot be told apart by the peak.
"""

from pulldrop.model.measurement import CLAMPED
from pulldrop.model.raw import Capture

VOLTS_A_COUNT = 5.0 / 1024 * 104.7 / 4.7
"""The low end's divider of 100 kohm and 4.7 kohm before the converter at 5 V."""
BENCH_CLAMP_V = 56.0
"""From here on it is the bench's clamp: 68 V, less 5 % of its own and GAIN_SHARE, and the supply below it."""
DIODE_MOST_V, ZENER_LEAST_V = 3.0, 8.0
"""Above the supply: a silicon diode takes about 0.7 V; zeners of relays have 12 V and more (common practice)."""


def peak_v(capture: Capture) -> float:
    """The highest volts of the low end; with a resistor across the coil the peak may last for one sample only."""
    return VOLTS_A_COUNT * max(capture.samples)


def clamp_class(peak: float, above: float) -> str:
    """What held the low end, in words."""
    if peak >= BENCH_CLAMP_V:
        return CLAMPED["bench"]
    if above <= DIODE_MOST_V:
        return CLAMPED["diode"]
    return CLAMPED["zener"] if above >= ZENER_LEAST_V else CLAMPED["other"]
