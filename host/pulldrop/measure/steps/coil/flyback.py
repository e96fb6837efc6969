"""What takes the coil's energy at switch-off: how far the coil's low end flies above the supply, and what held it.

The bench's own clamp ends every spike at 68 V; below it, what is inside the part shows. A resistor across the coil
and nothing at all both reach the bench's clamp, so the peak does not tell them apart.
"""

from collections.abc import Iterator
from statistics import fmean, median

from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.budget import median_of, rectangular, uncertain
from pulldrop.measure.rig.counts.channels import (
    BENCH_CLAMP_V,
    LOW_SIDE_GAIN,
    LOW_SIDE_SHARE,
    OWN_DIODE_MOST_V,
    peak_v,
)
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import CLAMPS, bounded, reading, state
from pulldrop.model.measurement import Clamped
from pulldrop.model.raw import Capture
from pulldrop.model.reading import Finding, amount
from pulldrop.model.steps.coil.flyback import FlybackStep

WINDOW_MS, DIVIDER = 18, 1
"""A sample every 50 us, 360 of them, which is all that the board has room for."""
HOLD_S, REST_S = 0.06, 0.06
"""On before the release, so that the current is steady, and off before the next make."""
TAIL = 20
"""Samples at the end of a release, when nothing moves any more: a millisecond."""
ZENER_LEAST_V = 8.0
"""Above the supply: zeners of relays have 12 V and more (common practice)."""


def procedure(rig: PartOnRig, step: FlybackStep) -> Iterator[Finding]:
    """flyback_peak, flyback_class. Raises WireTrouble where the bench's own clamp does not hold."""
    makes: list[Capture] = []
    supplies: list[float] = []
    for _ in range(step.makes):
        rig.energise(step.coil, HOLD_S)
        supplies.append(step.coil if rig.able.coil == "set" else rig.supply_v(rig.board.sense_coil().bus))
        off = rig.drive(step.coil, on=False)
        makes.append(rig.board.step_coil(off, WINDOW_MS, DIVIDER, low_side=True))
        wiring.must_be_clamped(rig, makes[-1])
        rig.wait(REST_S)
    peaks = [peak_v(c) * _scale(rig, c, supply_v) for c, supply_v in zip(makes, supplies, strict=True)]
    supply_v = supplies[-1]
    above = [peak - supply for peak, supply in zip(peaks, supplies, strict=True)]
    shown = rig.conditions(coil_voltage=amount(supplies[-1], "V", ".4g"), makes=str(step.makes), clamp=CLAMPS["tvs"])
    if median(peaks) >= BENCH_CLAMP_V:
        yield bounded("flyback_peak", ">", BENCH_CLAMP_V - supply_v, shown, raw=makes, makes=above)
    else:
        one = rectangular(LOW_SIDE_GAIN / 2, "resolution", "one count of the converter")
        gain = uncertain(1.0, LOW_SIDE_SHARE / 3**0.5, "divider", "5 V within 4 %, two resistors of 1 %")
        value = median_of(peaks, "makes") * gain + one - supply_v
        yield reading("flyback_peak", value, shown, raw=makes, makes=above)
    yield state("flyback_class", clamp_class(median(peaks), median(above)), shown)


def _scale(rig: PartOnRig, release: Capture, supply_v: float) -> float:
    """By what the low end's volts are to be taken, where the board's own 5 V are not known well: once the spike is over
    it stands at the supply, which is."""
    if rig.able.coil == "set":
        return 1.0
    rest_v = LOW_SIDE_GAIN * fmean(release.samples[-TAIL:])
    return supply_v / rest_v if rest_v > supply_v / 2 else 1.0


def clamp_class(peak: float, above: float) -> Clamped:
    """What held the low end."""
    if peak >= BENCH_CLAMP_V:
        return Clamped.BENCH
    if above <= OWN_DIODE_MOST_V:
        return Clamped.DIODE
    return Clamped.ZENER if above >= ZENER_LEAST_V else Clamped.OTHER
