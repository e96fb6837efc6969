"""A filament lamp: ohms cold, then half a second of load, which leaves a few volts across it; from its ohms, which tell
its temperature, what still goes into warming it; from the rest its current at rated volts.

Rule: power at rated volts is an extrapolation, says so, and is not stated where too little is known.
"""

import math
from collections.abc import Iterator, Sequence
from statistics import fmean, linear_regression
from typing import Any

from pulldrop.board.request_types import Pulse
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts import ranges
from pulldrop.measure.rig.counts.budget import nominal_value, rectangular, uncertain
from pulldrop.measure.rig.counts.ranges import FINEST, FULL, GAINS, MOST_PAIRS, PAIR_MS
from pulldrop.measure.rig.drop import SUPPLY_V, seating
from pulldrop.measure.rig.first_make import DRY_V
from pulldrop.measure.rig.load import branches_for, in_range, rested
from pulldrop.measure.rig.pair_dry import dry, must_conduct
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, not_loaded, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.measure.rig.warming import SLOPE, Warming
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, Reading, amount
from pulldrop.model.steps.pairs.lamp import LampStep

SETTLE_MS, LIMIT_MS, LAST = 200, 245, 4
"""Longest settling that the board takes; the end of a pulse by itself; how many of its first and last pairs are taken
together."""
EARLY_MS, EARLY_PAIRS, EARLY_LOAD_A = 1, 8, 1.0
"""Of the pulse that reads a cold filament: so small a load warms it by some kelvin a millisecond."""
EARLY_OHM = 0.6
"""Below, the zero of the volts at a few mA counts; above, so small a load warms the filament at once."""
REST_S = 1.0
"""Behind it, so that the board allows half a second of load at once."""
NOISE = 0.4
"""Counts of the load shunt at no load, from a few conversions (assumed)."""
LAW, LAW_ROOM = 0.54, 0.075
"""Current goes with volts to this power, and how far that may be off: 0.55 near rated volts (Fink and Beaty, quoted);
a lamp of 28 V had 0.54 and 0.56 down to 2 and 5 % (R. Elliott); hotter filaments have less so far down (assumed)."""
LEAST_SHARE = 0.02
"""Of rated volts."""
LEAST_STEADY = 0.6
"""Share of the current at the end that a warm filament would take; below, too much is worked out."""
WARM_ROOM = 0.35
"""Of what is taken off because it is still warming, how much may be wrong (assumed)."""
SHORT_OHM = 0.06
"""Under load; a filament of 100 W and 12 V has 0.09 ohm cold."""
LEAST_WARMING = 1.4
"""Ohms under load over cold ones, of a filament at 2 % of its rated volts or more: tungsten gains 2.3 at 600 K
(Forsythe and Worthing 1925, second hand)."""


def procedure(rig: PartOnRig, step: LampStep) -> Iterator[Finding]:
    """All that is measured of a filament lamp."""
    at_few_ma = dry(rig)
    if rig.bare or not rig.has_load():
        yield at_few_ma
        for id in step.gives[1:]:
            yield not_loaded(id)
        return
    yield at_few_ma
    zero, cold_ohm = _zero(at_few_ma, rig), _must_conduct(at_few_ma)
    if EARLY_LOAD_A in rig.able.loads_a and nominal_value(cold_ohm) < EARLY_OHM:
        cold_ohm = _early(rig, zero)
    if nominal_value(cold_ohm) <= 0:
        raise CannotTest("no filament: it has no ohms that this bench can read")
    branch_a = max(one for one in rig.able.loads_a if one <= step.load)
    pulses = [_pulse(rig, branch_a), _pulse(rig, branch_a)]
    last = _part(pulses[1], slice(-LAST, None))
    wiring.plausible(rig, Contact.NO, branch_a, last)
    if max(last.drop) >= FULL:
        raise CannotTest("it opens under load")
    volts, amps = _volts_amps(rig, last, zero)
    warm_ohm = volts / amps
    shown = rig.conditions(
        load=amount(round(nominal_value(amps), 3), "A"),
        volts_across=amount(round(nominal_value(volts), 3), "V"),
        method="half a second behind a load branch",
    )
    if nominal_value(warm_ohm) < SHORT_OHM:
        yield bounded("lamp_current", ">", nominal_value(amps), shown, raw=pulses)
        raise CannotTest(f"no filament: {1000 * nominal_value(warm_ohm):.0f} mohm under load")
    warms = nominal_value(warm_ohm) >= LEAST_WARMING * nominal_value(cold_ohm)
    steady = _steady(rig, pulses, branch_a, zero, nominal_value(cold_ohm)) if warms else 1.0
    if nominal_value(volts) < LEAST_SHARE * rig.plan.rating.system_v or steady < LEAST_STEADY:
        raise CannotTest(
            f"half a second of load leaves {nominal_value(volts):.2f} V across it, and does not warm it enough to say"
            f" what it takes at {rig.plan.rating.system_v:g} V",
            because="beyond bench",
        )
    yield reading("lamp_warming", 100 * warm_ohm / cold_ohm, shown, raw=pulses)
    if not warms:
        raise CannotTest("it does not warm as a filament does, so the law of filaments says nothing of it")
    current = _at_rated(rig, volts, amps, steady)
    yield reading("lamp_current", current, shown)
    yield reading("lamp_power", current * rig.plan.rating.system_v, shown)


def _must_conduct(found: Reading) -> Any:
    """Ohms of a part that is not open, with budget. Raises PartStops."""
    must_conduct(found)
    return uncertain(found.number, found.standard_uncertainty, "ohms at a few mA", "see there")


def _zero(found: Reading, rig: PartOnRig) -> float:
    """Counts of the load shunt at no load, from the pulse at a few mA, whose own share is known well enough."""
    counts = [one for one in found.raw if isinstance(one, PulseCounts)]
    own = DRY_V / rig.able.dry_ohm / rig.calibration.load.gain
    return fmean(counts[0].shunt) - own if counts and found.bound == "=" else rig.calibration.load.zero


def _early(rig: PartOnRig, zero: float) -> Any:
    """Ohms of the cold filament with budget: what the first milliseconds of a small load read, brought back to its
    beginning along a straight line."""
    branches = branches_for(EARLY_LOAD_A)

    def ask(gain: int) -> PulseCounts:
        pulse = Pulse(Contact.NO, branches, EARLY_MS, EARLY_PAIRS, LIMIT_MS, gain=gain)
        return rested(rig, lambda: rig.board.load_pulse(pulse))

    (counts,) = in_range(ask)
    rig.wait(REST_S)
    each = [
        nominal_value(volts / amps)
        for volts, amps in (_volts_amps(rig, _part(counts, slice(i, i + 1)), zero) for i in range(EARLY_PAIRS))
    ]
    times = [EARLY_MS + (i + 0.5) * PAIR_MS for i in range(EARLY_PAIRS)]
    slope, start = linear_regression(times, each)
    volts, amps = _volts_amps(rig, counts, zero)
    room = abs(slope) * times[0] + 1e-3 * abs(start)
    return (
        volts
        / amps
        * (start / fmean(each))
        * (1 + rectangular(room / max(start, 1e-6), "its own heat", "warms in milliseconds"))
    )


def _pulse(rig: PartOnRig, branch_a: float) -> PulseCounts:
    pulse = Pulse(Contact.NO, branches_for(branch_a), SETTLE_MS, MOST_PAIRS, LIMIT_MS, gain=GAINS[-1])
    return rested(rig, lambda: rig.board.load_pulse(pulse))


def _part(counts: PulseCounts, which: slice) -> PulseCounts:
    return counts.model_copy(update={"drop": counts.drop[which], "shunt": counts.shunt[which]})


def _volts_amps(rig: PartOnRig, counts: PulseCounts, zero: float) -> tuple[Any, Any]:
    """Across the lamp and through it, with budgets; the mean of some pairs."""
    seen = fmean(counts.shunt) - zero
    noise = uncertain(0.0, NOISE, "load amps at no load", "noise of its counts, and what a few mA are")
    amps = rig.scales.load.span(seen + noise + ranges.bend(seen, FINEST, "load amps"))
    clips = rig.scales.clips[Contact.NO] + seating(rig.calibration.clips)
    return ranges.drop_v(rig.scales.drop, fmean(counts.drop), counts.gain) - amps * clips, amps


def _steady(rig: PartOnRig, pulses: Sequence[PulseCounts], branch_a: float, zero: float, cold_ohm: float) -> float:
    """What its current comes to when it is as warm as these volts make it, over what it was at the end."""
    read = [[nominal_value(one) for one in _volts_amps(rig, counts, zero)] for counts in pulses]
    if min(amps for _, amps in read) <= 0:
        return 0.0
    middle_s = (SETTLE_MS + MOST_PAIRS * PAIR_MS / 2) / 1000
    whole_s = (SETTLE_MS + MOST_PAIRS * PAIR_MS) / 1000
    warm = Warming(cold_ohm, read[1][0], SUPPLY_V, SUPPLY_V / branch_a)
    kelvin = [max((volts / amps / cold_ohm) ** SLOPE, 1.0) for volts, amps in read]
    return warm.left((middle_s, whole_s + middle_s), (kelvin[0], kelvin[1]))


def _at_rated(rig: PartOnRig, volts: Any, amps: Any, steady: float) -> Any:
    """Amps at rated volts with budget; `steady`: see `_steady`."""
    over = rig.plan.rating.system_v / volts
    law = 1 + math.log(nominal_value(over)) * rectangular(LAW_ROOM, "law of filaments", "I ~ V^0.54, within 0.075")
    left = 1 + rectangular(WARM_ROOM * abs(1 - steady), "still warming", "a third of what is taken off for it")
    return amps * over**LAW * steady * law * left
