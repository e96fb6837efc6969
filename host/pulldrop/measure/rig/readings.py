"""How a propagated value, a bound or a state becomes a Reading, and what stands for one without load."""

from collections.abc import Sequence
from typing import Any, Literal

from pulldrop.measure.rig.counts.budget import nominal_value, terms
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.relay import PairChange
from pulldrop.model.reading import Condition, NotTested, Raw, Reading, State, coded

CLAMPS = {"tvs": coded("tvs", "68 V TVS of the bench"), "diode": coded("diode", "1N4007 across the coil")}
"""What the bench puts across the coil, as a step's settings call it."""

ATTITUDE = coded("blades down", "blades down, as it sits in the socket; another one changes it by about 1 %")
"""Of what springs and friction decide, which the armature's weight adds to: +-15 mN make 0.4 to 1.1 % of pull-in,
drop-out, operate and release (virtual parts of four classes). The bench cannot know another attitude."""


def ends_at(*changes: PairChange) -> Condition:
    """Which contacts end what is measured; whoever lists it gives it its name."""
    return coded(" ".join(one.code for one in changes), " to ".join(map(str, changes)))


def reading(
    id: str,
    value: Any,
    conditions: tuple[Condition, ...],
    raw: Sequence[Raw] = (),
    makes: Sequence[float] = (),
) -> Reading:
    """A value with its budget."""
    return Reading(
        id=id,
        unit=MEASUREMENTS[id].unit,
        value=nominal_value(value),
        budget=terms(value),
        conditions=conditions,
        raw=tuple(raw),
        makes=tuple(makes),
    )


def bounded(
    id: str,
    bound: Literal[">", "<"],
    value: float,
    conditions: tuple[Condition, ...],
    raw: Sequence[Raw] = (),
    makes: Sequence[float] = (),
) -> Reading:
    """Only a bound is known: the true value lies above (or below) `value`, its uncertainty already allowed for."""
    return Reading(
        id=id,
        unit=MEASUREMENTS[id].unit,
        value=value,
        bound=bound,
        conditions=conditions,
        raw=tuple(raw),
        makes=tuple(makes),
    )


def not_tested(id: str, why: CannotTest) -> NotTested:
    """What stands for a reading that could not be made."""
    return NotTested(id=id, reason=str(why), because=why.because)


def not_loaded(id: str) -> NotTested:
    """What a bench without a load supply gives instead of a reading under load."""
    return NotTested(id=id, reason="the board has no load supply: contacts were not loaded", because="no load supply")


def state(id: str, found: State, conditions: tuple[Condition, ...], raw: Sequence[Raw] = ()) -> Reading:
    """The state of the contacts, or what clamped the coil."""
    return Reading(id=id, unit="", state=found, conditions=conditions, raw=tuple(raw))
