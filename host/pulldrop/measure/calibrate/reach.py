"""What a calibration is good for: the expanded uncertainty (95 %) that it leaves in readings of a usual relay.

Rule: only what the calibration itself adds; step size, scatter and resolution come on top in every reading's budget.
"""

from typing import Any

from pulldrop.measure.rig.counts.budget import BUS_INPUT_S, ChannelScales, nominal_value, terms
from pulldrop.measure.rig.counts.ranges import FINEST, bend
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.coverage import spread
from pulldrop.model.raw import Contact, Frozen
from pulldrop.model.reading import effective_freedom

COIL_V, COIL_OHM, LOAD_A, DROP_V, TIME_S = 12.0, 85.0, 10.0, 0.1, 0.005
"""A 12 V relay of its usual class (common practice); U is nearly in proportion elsewhere."""


class Reach(Frozen):
    """One line: at `at`, in `unit`, the calibration leaves +-`expanded`."""

    title: str
    at: float
    unit: str
    expanded: float


def reach(calibration: Calibration) -> tuple[Reach, ...]:
    """One line for each channel that readings rest on."""
    scales = ChannelScales(calibration)
    bus = calibration.coil_bus
    supply = scales.bus(COIL_V / bus.gain + bus.zero)
    amps = scales.coil_amps((COIL_V / COIL_OHM + COIL_V * BUS_INPUT_S) / calibration.coil_shunt.gain, COIL_V)
    volts = supply - amps * scales.low_side_ohm
    zero_v = scales.drop(calibration.drop.zero)
    clips = LOAD_A * (scales.clips[Contact.NO] - calibration.clips.no_ohm)
    counts = {"contact volts": DROP_V / calibration.drop.gain, "load amps": LOAD_A / calibration.load.gain}
    volts_one, amps_one = (1 + bend(at, FINEST, what) / at for what, at in counts.items())
    drop = DROP_V * (scales.drop.one / scales.load.one * volts_one / amps_one) + zero_v - clips
    lines: tuple[tuple[str, float, str, Any], ...] = (
        ("coil volts", COIL_V, "V", volts),
        ("coil amps", nominal_value(amps), "A", amps),
        ("coil resistance", COIL_OHM, "ohm", volts / amps),
        (f"contact drop at {LOAD_A:g} A", DROP_V, "V", drop),
        ("operate time", TIME_S, "s", scales.tick.span(TIME_S / calibration.tick.gain)),
        ("bench temperature", 20.0, "degC", scales.temperature_k),
    )
    return tuple(Reach(title=t, at=at, unit=unit, expanded=_expanded(value)) for t, at, unit, value in lines)


def _expanded(value: Any) -> float:
    budget = terms(value)
    whole = spread(((t.u, t.shape) for t in budget), effective_freedom(budget))
    return whole.factor * whole.u
