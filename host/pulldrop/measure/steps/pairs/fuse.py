"""A fuse: ohms at a few mA, then short loads, four-wire, one after another; its drop, scatter and ohms.

Rule: no pulse takes more than a hundredth of the ampere-seconds-squared that melt the fuse.
"""

import math
import statistics
from collections.abc import Iterator
from typing import Any

from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.budget import median_of, nominal_value, rectangular, uncertain
from pulldrop.measure.rig.counts.ranges import FINEST
from pulldrop.measure.rig.drop import seating
from pulldrop.measure.rig.first_make import loaded_ohm
from pulldrop.measure.rig.load import LEAST_SHARE, carried, pulse_of
from pulldrop.measure.rig.pair_dry import dry, must_conduct
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import not_loaded, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, amount
from pulldrop.model.steps.pairs.fuse import FuseStep

MELTS_S = 1.0
"""A fuse melts by no less than so many seconds of its rated amps squared: 1.04 of a regular 5 A, 1.37 to 2.8 of mini
fuses, more of larger ones (makers' sheets, second hand)."""
MOST_SHARE = 0.1
"""Of that in one pulse, at most."""
WARMS = 0.92
"""By which share its ohms grow for each such second: ln(1 + 0.0038 K x 397 K), the way to the melting of zinc."""
COLD_V = 0.065
"""Cold ohms times rated amps, whatever is printed: 57 to 93 mV, the less the larger (makers' sheets, second hand)."""
MUCH_SMALLER = 3.0
"""By so much its rating may be below its print; more ohms than that are not its element's."""
REST_S, PILES_UP = 0.5, 2.0
"""Between two pulses; and what warmth of earlier ones is left makes of one's own, at most (virtual fuses)."""
HOT, HOT_ROOM = 1.5, 0.2
"""Ohms at rated current over cold ones, and how far either way: 1.34 to 1.67 (makers' sheets, second hand)."""


def procedure(rig: PartOnRig, step: FuseStep) -> Iterator[Finding]:
    """All that is measured of a fuse."""
    found = dry(rig)
    yield found
    if rig.bare or not rig.has_load():
        for id in step.gives[1:]:
            yield not_loaded(id)
        return
    must_conduct(found)
    rated_a: float = getattr(rig.plan.rating, "current")  # noqa: B009  # what a fuse's rating always has
    load_a = load_for(rig, step, rated_a)
    made: list[PulseCounts] = []
    for _ in range(step.pulses):
        made.append(_pulse(rig, step, load_a, made[-1].gain if made else FINEST))
        rig.wait(REST_S)
    each = [nominal_value(loaded_ohm(rig, one)) for one in made]
    typical = min(made, key=lambda one: abs(nominal_value(loaded_ohm(rig, one)) - statistics.median(each)))
    middle = median_of(each, "pulses")
    one = loaded_ohm(rig, typical)
    ohm = one - nominal_value(one) + middle - rig.scales.clips[Contact.NO] - seating(rig.calibration.clips)
    shown = rig.conditions(load=amount(load_a, "A"), makes=str(len(made)), method="four-wire, clips taken off")
    seems_a = max(COLD_V / max(nominal_value(ohm), 1e-6), rated_a / MUCH_SMALLER)
    warmed = min(WARMS * PILES_UP * load_a**2 * step.pulse / (MELTS_S * seems_a**2), 1.0)
    cold = ohm * (1 - warmed / 2 + rectangular(warmed / 2, "its own heat", f"{len(made)} pulses of {load_a:g} A"))
    yield reading("pair_resistance", cold, shown, raw=made, makes=each)
    yield reading("pair_drop", ohm * load_a, shown, makes=[load_a * one for one in each])
    yield reading("pair_scatter", _scatter(each), shown, makes=each)
    hot = HOT + rectangular(HOT_ROOM, "its heat", "hot over cold ohms: 1.34 to 1.67 of two makers' sheets")
    yield reading("pair_drop_hot", cold * rated_a * hot, rig.conditions(load=amount(rated_a, "A"), method="worked out"))


def load_for(rig: PartOnRig, step: FuseStep, rated_a: float) -> float:
    """The largest load of this build up to its rated current, else the smallest that it bears. Raises CannotTest."""
    bears_a = rated_a * math.sqrt(MOST_SHARE * MELTS_S / step.pulse)
    able = [one for one in rig.able.loads_a if one <= min(step.load, bears_a)]
    if not able:
        raise CannotTest(
            f"this build loads with {min(rig.able.loads_a):g} A at least, too much for a fuse of {rated_a:g} A",
            because="beyond bench",
        )
    return max((one for one in able if one <= rated_a), default=min(able))


def _pulse(rig: PartOnRig, step: FuseStep, load_a: float, gain: int) -> PulseCounts:
    pulse = pulse_of(Contact.NO, load_a, step.pulse, gain)
    counts = carried(rig, None, pulse, lambda one: rig.load_a(one) < LEAST_SHARE * load_a)
    return wiring.plausible(rig, Contact.NO, load_a, counts)


def _scatter(each: list[float]) -> Any:
    """Standard deviation of the pulses, as uncertain as so few make it."""
    found, freedom = statistics.stdev(each), len(each) - 1
    return uncertain(found, found / math.sqrt(2 * freedom), "scatter", f"pulses: {len(each)}", freedom, mend="makes")
