"""The coil's spike at switch-off: how far its low end flies above the supply, and what held it."""

from collections.abc import Iterator
from statistics import median

from pulldrop.measure.rig.bench import Bench
from pulldrop.measure.rig.budget import median_of, rectangular, uncertain
from pulldrop.measure.rig.flyback import BENCH_CLAMP_V, VOLTS_A_COUNT, clamp_class, peak_v
from pulldrop.measure.rig.readings import bounded, reading, state
from pulldrop.model.raw import Capture
from pulldrop.model.reading import Finding
from pulldrop.model.steps.flyback import FlybackStep

WINDOW_MS, DIVIDER = 18, 1
"""A sample every 50 us, 360 of them, which is all that the board has room for."""
HOLD_S, REST_S = 0.06, 0.06
"""On before the release, so that the current is steady, and off before the next make."""
GAIN_SHARE = 0.054
"""How well that is known, either way: the 5 V within 4 %, two resistors of 1 %; not calibrated."""


def procedure(bench: Bench, step: FlybackStep) -> Iterator[Finding]:
    """flyback_peak, flyback_class."""
    makes: list[Capture] = []
    supplies: list[float] = []
    for _ in range(step.makes):
        bench.energise(step.coil, HOLD_S)
        supplies.append(step.coil)
        off = bench.drive(step.coil, 1000, on=False)
        makes.append(bench.board.step_coil(off, WINDOW_MS, DIVIDER, low_side=True))
        bench.board.wait(REST_S)
    peaks = [peak_v(c) for c in makes]
    above = [peak - supply for peak, supply in zip(peaks, supplies, strict=True)]
    shown = bench.conditions(coil_voltage=f"{step.coil:g} V", makes=str(step.makes), clamp="68 V TVS of the bench")
    if median(peaks) >= BENCH_CLAMP_V:
        yield bounded("flyback_peak", ">", BENCH_CLAMP_V - step.coil, shown, raw=makes, makes=above)
    else:
        one = rectangular(VOLTS_A_COUNT / 2, "resolution", "one count of the converter")
        gain = uncertain(1.0, GAIN_SHARE / 3**0.5, "divider", "5 V within 4 %, two resistors of 1 %")
        value = median_of(peaks, "makes") * gain + one - step.coil
        yield reading("flyback_peak", value, shown, raw=makes, makes=above)
    yield state("flyback_class", clamp_class(median(peaks), median(above)), shown)
