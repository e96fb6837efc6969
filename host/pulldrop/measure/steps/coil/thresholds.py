"""Pull-in and drop-out: from the magnetised state, coarse steps, then fine steps, each held for its dwell."""

from collections.abc import Iterator

from pulldrop.measure.rig.coil import turned
from pulldrop.measure.rig.coil.walks import DROP_START, ZERO_S, Goal, conditions, drop_out, search, threshold
from pulldrop.measure.rig.counts.copper import at_20c
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, not_tested, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.reading import Finding
from pulldrop.model.step import COIL_MOST_V
from pulldrop.model.steps.coil.thresholds import ThresholdsStep

SEARCH_MOST = 1.4
"""Pull-in is sought up to this share of nominal: enough to see a weak part, too little to hurt a coil."""


def procedure(rig: PartOnRig, step: ThresholdsStep) -> Iterator[Finding]:
    """pull_in_voltage, pull_in_voltage_20c, pull_in_current, drop_out_voltage."""
    rig.must_rest(rig.rest)
    if rig.able.coil == "by hand":
        yield from _turned(rig)
        return
    full = step.full or rig.strongest_v
    yield from _pull_in(rig, step, full)
    yield drop_out(rig, step, "drop_out_voltage", full, DROP_START * min(full, rig.nominal_v))
    rig.release(ZERO_S)


def _turned(rig: PartOnRig) -> Iterator[Finding]:
    """The same where a hand turns the coil's volts."""
    rig.ohm()
    up, down = turned.by_hand(rig)
    operates = rig.form.operates
    found, amps = turned.findings(rig, up, True, "pull_in_voltage", operates)
    yield found
    if amps is None:
        yield found.model_copy(update={"id": "pull_in_voltage_20c", "raw": ()})
        raise CannotTest(f"{operates.pair} did not {operates.verb} up to the end of the knob")
    try:
        yield reading("pull_in_voltage_20c", at_20c(amps * rig.ohm(), rig.temperature()), found.conditions)
    except CannotTest as why:
        yield not_tested("pull_in_voltage_20c", why)
    yield reading("pull_in_current", amps, found.conditions)
    rig.pull_in_amps = amps
    yield turned.findings(rig, down, False, "drop_out_voltage", operates.undone)[0]


def _pull_in(rig: PartOnRig, step: ThresholdsStep, full: float) -> Iterator[Finding]:
    goal = Goal(rig.form.operates, up=True, settle_s=0.12)
    most = min(SEARCH_MOST * rig.nominal_v, COIL_MOST_V)
    shown = conditions(rig, step, goal, full, step.dwell)
    found = search(rig, step, goal, full, 0.0, most)
    if not found.points:
        rig.release(ZERO_S)
        yield bounded("pull_in_voltage", ">", most, shown, raw=found.landings)
        yield bounded("pull_in_voltage_20c", ">", most, shown)
        raise CannotTest(f"{goal.change.pair} did not {goal.change.verb} up to {most:.1f} V")
    amps, raw, makes = threshold(rig, step, goal, found)
    yield reading("pull_in_voltage", amps * rig.ohm(), shown, raw=raw, makes=makes)
    try:
        yield reading("pull_in_voltage_20c", at_20c(amps * rig.ohm(), rig.temperature()), shown)
    except CannotTest as why:
        yield not_tested("pull_in_voltage_20c", why)
    yield reading("pull_in_current", amps, shown)
    rig.pull_in_amps = amps
