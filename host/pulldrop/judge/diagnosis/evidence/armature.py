"""Clues about coil and armature: what holds it, whether and when it moves, and what reversed pulses changed."""

import math
from collections.abc import Mapping
from dataclasses import replace

from pulldrop.judge.diagnosis.evidence.clue import Clue, Motion, Reversal
from pulldrop.judge.diagnosis.evidence.one_reading import number, shown_as
from pulldrop.judge.diagnosis.evidence.scales import FOLLOWS_VOLTS, ON_CHARGE, rated_amps
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.relay import FORMS, PairChange
from pulldrop.model.reading import ConditionName, Finding, NotTested, Reading, condition, state_words
from pulldrop.model.run.plan import Plan

BY_WORD = "if the leads were exchanged as the person said"
RISEN_SHARE = 0.02
"""Of nominal: a smaller rise of the drop-out is no sign of hardened iron, for soft iron keeps a little (assumed)."""
HELD_U = 0.02
"""Share by which a look's volts at a few mA may be off (INA226 and the switch below the coil, assumed)."""


def motion(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Whether the coil current shows the dip of a moving armature."""
    id = "armature_seat_time"
    one = by_id.get(id)
    if one is None:
        return None
    if isinstance(one, NotTested):
        return Clue("motion", id, "not possible", missing=True)
    seen = Motion.MOVES if one.bound == "=" else Motion.RESTS
    return Clue("motion", id, seen, state=seen)


def held(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Volts across a coil at a few mA, where they are so low that it got no more."""
    one = by_id.get("coil_resistance")
    held = condition(ConditionName.HELD, one.conditions) if isinstance(one, Reading) else None
    if held is None or held.value is None:
        return None
    return Clue("held", "coil_resistance", f"{held.text} at a few mA", held.value, HELD_U * held.value, least=1e-3)


def pull_in(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """The current at pull-in; or that there is none up to the highest voltage of the search."""
    volts = by_id.get("pull_in_voltage")
    if isinstance(volts, Reading) and volts.bound == ">":
        return Clue("pull_in", "pull_in_voltage", shown_as(volts), (volts.value or 0.0) / plan.relay.nominal, bound=">")
    return number("pull_in", "pull_in_current", rated_amps)(plan, by_id)


def start(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """When the armature starts; reported by `motion` when it does not."""
    one = by_id.get("armature_start_time")
    if not isinstance(one, Reading) or one.bound != "=":
        return None
    return number("start", "armature_start_time", _less_volts)(plan, by_id)


def _less_volts(plan: Plan, by_id: Mapping[str, Finding]) -> float:
    """By what factor an armature starts later than at the volts of the bands."""
    start = by_id["armature_start_time"]
    at = condition(ConditionName.COIL_VOLTAGE, start.conditions) if isinstance(start, Reading) else None
    return (ON_CHARGE * plan.relay.nominal / at.value) ** FOLLOWS_VOLTS if at and at.value else 1.0


def gap(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Drop-out over pull-in: coil and springs move both, friction moves them apart."""
    pull_in, drop_out = by_id.get("pull_in_voltage"), by_id.get("drop_out_voltage")
    if not (isinstance(pull_in, Reading) and isinstance(drop_out, Reading)):
        return None
    if pull_in.bound != "=" or not pull_in.value or not drop_out.value:
        return None
    share = drop_out.value / pull_in.value
    shown = f"{shown_as(drop_out)}, {share:.2f} of the pull-in voltage"
    u = math.hypot(*(one.expanded_uncertainty / 2 / (one.value or 1.0) for one in (pull_in, drop_out)))
    return Clue("gap", "drop_out_voltage", shown, share, share * u, drop_out.bound)


def overdriven(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Drop-out after overdrive over drop-out before it; nothing where the part does not let go even before."""
    before = by_id.get("drop_out_voltage")
    if not isinstance(before, Reading) or before.bound != "=" or not before.value:
        return None
    clue = number("overdriven", "drop_out_overdriven", lambda _plan, _by_id: before.value)(plan, by_id)
    if clue is None or clue.value is None:
        return clue
    u_before = clue.value * before.expanded_uncertainty / 2 / before.value
    return replace(clue, u=math.hypot(clue.u, u_before))


def released(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Whether it lets go by itself; a step that was left out or refused says nothing of that."""
    one = by_id.get("contact_released")
    return Clue("released", one.id, state_words(one.state), state=one.state) if isinstance(one, Reading) else None


def reversal(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """What reversed pulses did: made it let go or not; or raised its drop-out, beyond both uncertainties, or not."""
    released, reversed = by_id.get("contact_released"), by_id.get("contact_reversed")
    if not (isinstance(released, Reading) and isinstance(reversed, Reading)):
        return None
    operates = FORMS[plan.relay.form].operates
    if happened(operates, released):
        did = Reversal.HELD if happened(operates, reversed) else Reversal.LET_GO
        at = condition(ConditionName.LET_GO_AT, reversed.conditions)
        return Clue("reversal", reversed.id, f"{did}{f' ({at.text})' if at else ''}, {BY_WORD}", state=did)
    rise = by_id.get("drop_out_rise")
    if not isinstance(rise, Reading) or rise.value is None:
        return None
    risen = rise.value - rise.expanded_uncertainty > RISEN_SHARE * plan.relay.nominal
    did = Reversal.RISEN if risen else Reversal.SAME
    return Clue("reversal", rise.id, f"{did} ({shown_as(rise)}), {BY_WORD}", state=did)


def happened(change: PairChange, seen: Reading) -> bool:
    """Whether the pairs of a reading are as after this change."""
    return isinstance(seen.state, ContactState) and change.pair in (
        seen.state.closed if change.closes else seen.state.open
    )
