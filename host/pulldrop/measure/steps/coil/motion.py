"""When the armature starts and when it strikes, from the coil current alone (dip.py): no contact is asked.

A coil whose current shows no dip moves nothing, unless the contacts say that it does: then start and strike are not
known.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from pulldrop.measure.rig.counts import edges
from pulldrop.measure.rig.counts.budget import median_of, rectangular, uncertain
from pulldrop.measure.rig.counts.dip import end_of, moved
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.model.part.relay import SEEN_BY, RelayForm
from pulldrop.model.raw import TICKS_PER_S, Capture
from pulldrop.model.reading import Condition, Finding, NotTested, amount
from pulldrop.model.steps.coil.motion import MotionStep

WINDOW_MS, DIVIDER = 30, 2
"""A sample every 100 us, 300 of them: the last ones tell where the current ends."""
HOLD_S, REST_S = 0.03, 0.06
"""On after the window, and off before the next make."""
U_START_S, U_SEAT_S = 0.32e-3, 0.15e-3
"""Standard uncertainties of that rule, and of the dip's bottom as the moment of striking: against designs of a second
model, whose flux leaks beside the gap (tests/bench/measuring/motion.py). The first one alone gave 0.15 ms for both."""
LEAST_A = 0.005
"""With less end current there is no curve to read."""


def procedure(rig: PartOnRig, step: MotionStep) -> Iterator[Finding]:
    """armature_start_time, armature_seat_time."""
    rig.release(REST_S)
    makes: list[Capture] = []
    coil = amount(step.coil, "V")
    for _ in range(step.makes):
        makes.append(rig.board.step_coil(rig.drive(step.coil), WINDOW_MS, DIVIDER))
        rig.wait(HOLD_S)
        if rig.able.coil == "by hand":
            coil = amount(rig.sense().v, "V", ".2f")
        rig.release(REST_S)
    at = rig.conditions(coil_voltage=coil, makes=str(step.makes), method="dip of the coil current")
    if max(rig.amps_per_count * end_of(c) for c in makes) < LEAST_A and not any(moved(c) for c in makes):
        for id in step.gives:
            yield NotTested(id=id, reason="the coil takes too little current to see motion in it")
        return
    yield from told(makes, rig.form, at, rig.scales.tick.one)


def told(makes: Sequence[Capture], form: RelayForm, at: tuple[Condition, ...], clock: Any) -> Iterator[Finding]:
    """What makes with enough current say of the armature; `clock`: 1 with what the time base may be off by."""
    found = [moved(c) for c in makes]
    seen = [m for m in found if m is not None]
    hidden = [c for c, m in zip(makes, found, strict=True) if m is None]
    if hidden and all(_operates(form, c) for c in hidden):
        why = f"no dip of the current seen in {len(hidden)} of {len(makes)} makes, though the contacts operate in each"
        for id in MotionStep.gives:
            yield NotTested(id=id, reason=f"{why}: some designs show next to none", because="not shown")
        return
    if not seen:
        for id in MotionStep.gives:
            yield bounded(id, ">", makes[0].window_ticks / TICKS_PER_S, at, raw=makes)
        return
    if hidden:
        for id in MotionStep.gives:
            reason = f"no dip in {len(hidden)} of {len(makes)} makes: it does not move every time"
            yield NotTested(id=id, reason=reason)
        return
    for id, times, u, why in (
        ("armature_start_time", [m.start_s for m in seen], U_START_S, "where the current leaves its course"),
        ("armature_seat_time", [m.seat_s for m in seen], U_SEAT_S, "bottom of the dip"),
    ):
        rule = uncertain(0.0, u, "dip", why + ", against models of relays")
        raster = rectangular(DIVIDER * 25e-6, "sampling", "a sample every 100 us")
        value = clock * median_of(times, "makes") + rule + raster
        yield reading(id, value, at, raw=makes, makes=times)


def _operates(form: RelayForm, make: Capture) -> bool:
    """Whether a contact says that the armature moved, and for good."""
    operates = form.operates
    return edges.change(make, SEEN_BY[operates.pair], operates.closes) is not None
