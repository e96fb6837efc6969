"""What a reading is divided by to become a clue: the rated value, the part's own, or the volts of the bands."""

from collections.abc import Mapping

from pulldrop.model.reading import Finding, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps.contacts.timing import TimingStep

ON_CHARGE, FOLLOWS_VOLTS = 1.125, 1.1
"""Times of the bands are those of 13.5 V on a 12 V coil; an operate time follows the volts by this power (the middle of
what virtual parts do)."""


def plain(_plan: Plan, _by_id: Mapping[str, Finding]) -> float:
    return 1.0


def slower(plan: Plan, _by_id: Mapping[str, Finding]) -> float:
    """By what factor an operate time is longer than at the volts of the bands."""
    return float(more_volts(plan) ** FOLLOWS_VOLTS)


def more_volts(plan: Plan) -> float:
    """The volts of the bands over those of the timing."""
    coil_v = next((step.coil for step in plan.steps if isinstance(step, TimingStep)), ON_CHARGE * plan.relay.nominal)
    return ON_CHARGE * plan.relay.nominal / coil_v


def cold_ohm(_plan: Plan, by_id: Mapping[str, Finding]) -> float | None:
    cold = by_id.get("coil_resistance")
    return cold.value if isinstance(cold, Reading) and cold.bound == "=" else None


def rated_ohm(plan: Plan, _by_id: Mapping[str, Finding]) -> float | None:
    return plan.relay.coil_ohm


def rated_amps(plan: Plan, by_id: Mapping[str, Finding]) -> float | None:
    """Nominal current of a coil of the rated resistance; of a class, whose coils differ, that of the part's own."""
    own = by_id.get("coil_resistance_20c")
    if plan.relay.any_maker and isinstance(own, Reading) and own.bound == "=" and own.value:
        return plan.relay.nominal / own.value
    return plan.relay.nominal / plan.relay.coil_ohm if plan.relay.coil_ohm else None


def nominal(plan: Plan, by_id: Mapping[str, Finding]) -> float:
    """Nominal voltage, for a coil of the rated resistance: ampere-turns are what holds the armature. Of a class, whose
    coils differ, nominal voltage."""
    coil = by_id.get("coil_resistance")
    rated = plan.relay.coil_ohm
    if rated and not plan.relay.any_maker and isinstance(coil, Reading) and coil.value and coil.bound == "=":
        return plan.relay.nominal * coil.value / rated
    return plan.relay.nominal


def load(plan: Plan, _by_id: Mapping[str, Finding]) -> float:
    return plan.load_a or 10.0
