"""The coil held on until it is hot: its resistance then, its rise, and the pull-in that follows for 85 degC.

A cracked joint opens when it is warm and is good again when it is cold: only this finds it.
"""

from collections.abc import Iterator
from typing import Any

from pulldrop.measure.rig.counts.copper import INFERRED_ZERO_C, factor
from pulldrop.measure.rig.part import OPEN_COIL_A, PartOnRig
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.reading import Finding, NotTested, amount
from pulldrop.model.steps.coil.soak import SoakStep

LOOK_EVERY_S = 10.0
"""The coil is held on for half as long again, so that it never goes off between two looks."""
HOT_C = 85.0
"""Highest ambient temperature that makers of vehicle relays usually state."""


def procedure(rig: PartOnRig, step: SoakStep) -> Iterator[Finding]:
    """coil_resistance_hot, coil_rise, pull_in_voltage_85c."""
    cold = rig.ohm()
    rig.release(0.05)
    shown = rig.conditions(coil_voltage=amount(step.coil, "V"), on_for=f"{step.time:g} s")
    hot: Any = None
    point = None
    for _ in range(max(1, round(step.time / LOOK_EVERY_S))):
        rig.hold(rig.drive(step.coil, round(1500 * LOOK_EVERY_S)), LOOK_EVERY_S)
        point = rig.sense()
        if point.a < OPEN_COIL_A:
            yield bounded("coil_resistance_hot", ">", point.v / OPEN_COIL_A, shown, raw=[point.counts])
            raise CannotTest("the coil opened while it was warm")
        hot = point.volts / point.amps
    rig.release(0.05)
    yield reading("coil_resistance_hot", hot, shown, raw=[point.counts] if point else [])
    rise = (hot / cold - 1) * (INFERRED_ZERO_C + rig.temperature())
    yield reading("coil_rise", rise, shown)
    yield _pull_in_hot(rig, cold)


def _pull_in_hot(rig: PartOnRig, cold: Any) -> Finding:
    """Pull-in current times the coil's resistance at 85 degC: a cold start beside a hot engine."""
    if rig.pull_in_amps is None:
        return NotTested(id="pull_in_voltage_85c", reason="the pull-in current is not known: put thresholds before it")
    value = rig.pull_in_amps * cold * factor(rig.temperature(), HOT_C)
    shown = rig.conditions(coil_at=f"{HOT_C:g} degC", method="by the copper law from the pull-in current")
    return reading("pull_in_voltage_85c", value, shown)
