"""Does the drop climb: one make, load pulses close upon each other, its resistance in the last against the first.

Metal that is too thin for its load warms from pulse to pulse; sound metal hardly does. Pulses prove no rated current.
Only pulses of one make compare: in the next make the contact touches elsewhere.
"""

import math
import statistics
from collections.abc import Iterator, Sequence
from typing import Any

from pulldrop.board.request_types import PULSE_MS_MAX, Pulse
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.budget import nominal_value, uncertain
from pulldrop.measure.rig.counts.ranges import FINEST, PAIR_MS
from pulldrop.measure.rig.load import BREAK_S, LEAST_SHARE, REST_S, branches_for, close_no, in_range, rested
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import not_loaded, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, amount
from pulldrop.model.steps.contacts.rise import SPARE_MS, RiseStep

SAMPLES = 5
"""Pairs of conversions at the end of each pulse."""
MOST_SETTLE_MS = 200
"""What the board takes in one request."""
WINDOW_S = 10.0
"""Rest after a refusal amid the pulses: a shorter one would be used up before the same pulse again, for ever."""


def procedure(rig: PartOnRig, step: RiseStep) -> Iterator[Finding]:
    """contact_climb_no."""
    if not rig.has_load():
        yield not_loaded("contact_climb_no")
        return
    rig.must_rest(rig.release(BREAK_S))
    pulses = _pulses(rig, step)
    wiring.check(rig, step.coil)
    ohms = [_ohm(rig, one) for one in pulses]
    first, last = ohms[0], ohms[-1]
    shown = rig.conditions(load=amount(step.load, "A"), pulses=f"{step.pulses} of {step.pulse * 1000:g} ms")
    rises = [100 * nominal_value(one / first - 1) for one in ohms]
    yield reading("contact_climb_no", 100 * (last / first - 1), shown, raw=pulses, makes=rises)


def asked(step: RiseStep, gain: int) -> Pulse:
    """One pulse, in a range of the converter."""
    settle_ms = min(max(1, round(step.pulse * 1000 - SAMPLES * PAIR_MS)), MOST_SETTLE_MS)
    limit_ms = min(round(step.pulse * 1000) + SPARE_MS, PULSE_MS_MAX)
    return Pulse(Contact.NO, branches_for(step.load), settle_ms, SAMPLES, limit_ms, gain=gain)


def _pulses(rig: PartOnRig, step: RiseStep) -> list[PulseCounts]:
    """All pulses of one make, in the first range that holds them; begun again when the board asks for rest."""
    gain, made = FINEST, 0

    def one(code: int) -> PulseCounts:
        nonlocal gain, made
        if code != gain:
            gain, made = code, 0
            rig.release(BREAK_S)
            close_no(rig, step.coil)
        counts = rig.board.load_pulse(asked(step, code))
        made += 1
        wiring.plausible(rig, Contact.NO, step.load, counts)
        if rig.load_a(counts) < LEAST_SHARE * step.load:
            raise CannotTest("87 carries less than half the load, so a rise cannot be seen")
        return counts

    def make() -> list[PulseCounts]:
        nonlocal made
        made = 0
        close_no(rig, step.coil)
        return in_range(one, step.pulses, gain)

    return rested(rig, make, rest_s=lambda: WINDOW_S if made else REST_S)


def _ohm(rig: PartOnRig, counts: PulseCounts) -> Any:
    """Drop over load of one pulse with what its own samples scatter by; the range is that of all pulses and cancels."""
    ohm = nominal_value(rig.scales.drop(statistics.mean(counts.drop))) / nominal_value(
        rig.scales.load(statistics.mean(counts.shunt))
    )
    share = math.hypot(_spread(counts.drop), _spread(counts.shunt))
    return uncertain(ohm, ohm * share, "noise", f"{len(counts.drop)} pairs of conversions")


def _spread(counts: Sequence[int]) -> float:
    """Standard deviation of the mean as a share of it; one count at least."""
    return max(statistics.stdev(counts), 1.0) / math.sqrt(len(counts)) / max(abs(statistics.mean(counts)), 1.0)
