"""One reading and its limit to one outcome, with a guard band after JCGM 106:2012; a contact drop to its grade.

A reading conforms with the probability P that a quantity of its value, distributed as its budget says, lies inside the
limit; few makes widen it by Student's factor.
P of at least 1 - RISK is a pass, P of at most RISK is a fail, between them the bench cannot tell: unsure. So the risk
of a wrong pass, or of a wrong fail, is at most RISK for the single part (JCGM 106, 8.2, 9.3).
The edges of the scale have the same guard band: a contact is good, worn or bad only where that is at least as sure.
"""

import math

from pulldrop.judge.positions.decided import judge_table
from pulldrop.model.coverage import Spread
from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.quantity import show
from pulldrop.model.reading import ConditionName, Finding, NotTested, Reading, condition
from pulldrop.model.run.plan import Plan
from pulldrop.model.scale import CONTACT_DROP, Grade
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.verdict import Judged, Outcome

RISK = 0.02
"""Largest accepted probability that a part called good is not, or one called bad is not bad."""

LOADED = tuple(row.id for row in MEASUREMENTS.values() if row.loaded)
"""Readings of parts that have carried a load."""

WITH_DIODE = Limit(
    text="<= 15 ms (with a diode across the coil)",
    source=Source(text="Panasonic CM data sheet, types with a diode: release at most 15 ms", known="read"),
    unit="s",
    high=15e-3,
)
"""Of the release of a part in which a diode was found, where the limit is no rated figure of parts with one."""


def judge_finding(plan: Plan, finding: Finding) -> Judged:
    """Outcome by the limit of the plan, and the grade of a contact drop at the load of the scale."""
    if (
        isinstance(plan.rating, SwitchRating)
        and isinstance(finding, Reading)
        and isinstance(finding.state, SwitchTable)
    ):
        return judge_table(finding, finding.state, plan.limits.get(finding.id), plan.rating)
    decided = decide(finding, _limit(plan, finding))
    if isinstance(finding, NotTested) or finding.id not in ContactStep.gives or plan.load_a != CONTACT_DROP.load:
        return decided
    return decided.model_copy(update={"grade": grade(finding)})


def _limit(plan: Plan, finding: Finding) -> Limit | None:
    """The plan's limit; for a release that a diode in the part slows, that of parts with one if it allows more."""
    limit = plan.limits.get(finding.id)
    if plan.form is None or limit is None or limit.high is None or isinstance(finding, NotTested):
        return limit
    if plan.relay.suppression == "diode" and limit.high == plan.relay.release_most:
        return limit
    slowed = finding.id == "release_time" and condition(ConditionName.OWN_DIODE, finding.conditions)
    assert WITH_DIODE.high is not None
    return WITH_DIODE if slowed and limit.high < WITH_DIODE.high else limit


def grade(drop: Reading) -> Grade:
    """Of one contact drop at the load of the scale, in V."""
    if drop.value is None or math.isnan(drop.value):
        raise ValueError(f"{drop.id} has no value to grade")
    if drop.bound != "=":
        return Grade.BAD if drop.bound == ">" and drop.value >= CONTACT_DROP.worn else Grade.UNSURE
    good, worn = (conformance(drop.value, drop.spread, None, edge) for edge in (CONTACT_DROP.good, CONTACT_DROP.worn))
    if worn < 1 - RISK:
        return Grade.BAD if worn <= RISK else Grade.UNSURE
    if good >= 1 - RISK:
        return Grade.GOOD
    return Grade.WORN if good <= RISK else Grade.GOOD_OR_WORN


def decide(finding: Finding, limit: Limit | None) -> Judged:
    """Outcome and a reason in words. A reading without a limit is noted; what was not made is not tested."""
    if isinstance(finding, NotTested):
        return _judged(finding, limit, Outcome.NOT_TESTED, finding.reason)
    if limit is None:
        return _judged(finding, None, Outcome.NOTED, "the protocol sets no limit")
    if finding.unit != limit.unit:
        raise ValueError(f"{finding.id} is in '{finding.unit}' and its limit in '{limit.unit}'")
    if limit.state is not None:
        return _state(finding, limit)
    if finding.value is None:
        raise ValueError(f"{finding.id} has no value to hold against '{limit.text}'")
    if finding.bound != "=":
        return _bound(finding, limit, finding.value)
    return _value(finding, limit, finding.value)


def conformance(value: float, spread: Spread, low: float | None, high: float | None) -> float:
    """Probability that a quantity of this value and spread lies within low..high (either may be None); in one unit."""
    above_low = 1.0 if low is None else spread.above(low - value)
    above_high = 0.0 if high is None else spread.above(high - value)
    return above_low - above_high


def _value(reading: Reading, limit: Limit, value: float) -> Judged:
    spread = reading.spread
    good = conformance(value, spread, limit.low, limit.high)
    shown = show(value, reading.unit, spread.factor * reading.standard_uncertainty)
    if math.isnan(good):
        raise ValueError(f"{reading.id} cannot be judged: its value or uncertainty is not a number")
    if good >= 1 - RISK:
        return _judged(reading, limit, Outcome.PASS, f"{shown} is inside {limit.text}")
    if good <= RISK:
        return _judged(reading, limit, Outcome.FAIL, f"{shown} is outside {limit.text}")
    return _judged(reading, limit, Outcome.UNSURE, f"{shown} is too near {limit.text} to tell")


def _bound(reading: Reading, limit: Limit, value: float) -> Judged:
    """`> value` fails a high limit below it and passes a lone low limit below it; `< value` the other way round."""
    above = reading.bound == ">"
    beyond = limit.high is not None and value >= limit.high if above else limit.low is not None and value <= limit.low
    within = (
        limit.high is None and limit.low is not None and value >= limit.low
        if above
        else limit.low is None and limit.high is not None and value <= limit.high
    )
    shown = f"{'more' if above else 'less'} than {show(value, reading.unit)}"
    if beyond:
        return _judged(reading, limit, Outcome.FAIL, f"{shown} is outside {limit.text}")
    if within:
        return _judged(reading, limit, Outcome.PASS, f"{shown} is inside {limit.text}")
    return _judged(reading, limit, Outcome.UNSURE, f"{shown} does not settle {limit.text}")


def _state(reading: Reading, limit: Limit) -> Judged:
    if not isinstance(reading.state, ContactState) or limit.state is None:
        raise ValueError(f"{reading.id} is not a contact state")
    if reading.state.meets(limit.state):
        return _judged(reading, limit, Outcome.PASS, f"{reading.state}, as it should be")
    return _judged(reading, limit, Outcome.FAIL, f"{reading.state}; expected {limit.state}")


def _judged(finding: Finding, limit: Limit | None, outcome: Outcome, reason: str) -> Judged:
    return Judged(id=finding.id, outcome=outcome, reason=reason, finding=finding, limit=limit)
