"""Judge a stored run again, with another protocol or rating. Rule: readings are taken as they stand in the store.

A reading that was made under other conditions than the protocol asks for is no answer to its limit.
"""

import secrets
from collections.abc import Sequence
from datetime import UTC, datetime

from pulldrop import __version__
from pulldrop.jobs.parts.siblings import reference_of
from pulldrop.judge import judge_finding
from pulldrop.judge import verdict as verdict_of
from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.part.relay import FORMS
from pulldrop.model.quantity import show
from pulldrop.model.reading import Finding, NotTested
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.judgement import Decision, Judgement
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.step import Step
from pulldrop.model.steps import yields
from pulldrop.model.verdict import SAYS_NOTHING, Verdict
from pulldrop.store import Store, StoreError

UNITS = {"coil": "V", "at": "V", "full": "V", "load": "A", "time": "s"}
"""Settings of a step that change what it measures, apart from the clamp; the others only change how well."""


class NotToBeJudged(StoreError):
    """The run says nothing about its part, or the protocol is for another kind of part."""


def rejudge(
    store: Store,
    run: str,
    plan: Plan,
    now: datetime,
    operator: str = "",
    beside: Sequence[str] = (),
    siblings: TypeReference | None = None,
) -> Judgement:
    """Judge, keep and give; beside these parts or siblings, if any are named. Raises NotKept, NotToBeJudged and
    NoReference."""
    record = store.record(run)
    _refuse(record, plan)
    if beside:
        siblings = reference_of(store, plan, beside, record.simulated, record.part.id)
    decisions, faults, verdict = judged_by(record, plan, siblings)
    judgement = Judgement(
        id=f"{now.astimezone(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(3)}",
        run=record.run,
        at=now,
        simulated=record.simulated,
        origin=record.origin,
        plan=plan,
        decisions=decisions,
        faults=faults,
        verdict=verdict,
        software=f"pulldrop {__version__}",
        operator=operator,
        siblings=siblings,
    )
    store.add_judgement(judgement)
    return judgement


def judged_by(
    record: RunRecord, plan: Plan, siblings: TypeReference | None
) -> tuple[tuple[Decision, ...], tuple[NamedFault, ...], Verdict]:
    """What the readings of a run come to by another plan."""
    findings = [_under(plan, record.plan, one.finding) for one in record.judged]
    judged = [judge_finding(plan, one) for one in findings]
    faults, unlike = diagnose(plan, findings, reference=siblings)
    decisions = (
        Decision(id=one.id, outcome=one.outcome, reason=one.reason, limit=one.limit, grade=one.grade) for one in judged
    )
    return tuple(decisions), faults, verdict_of(plan, judged, "complete", faults=faults, unlike=unlike)


def _refuse(record: RunRecord, plan: Plan) -> None:
    if record.ended is None or record.verdict.overall in SAYS_NOTHING:
        raise NotToBeJudged(
            f"The run {record.run} ended as '{record.verdict.overall}', so it says nothing about the part; "
            "a finished run was expected. Test the part again."
        )
    if plan.rating.sort != record.plan.rating.sort:
        raise NotToBeJudged(
            f"The rating {plan.rating.rating} is for a {plan.rating.sort}; run {record.run} tested a"
            f" {record.plan.rating.sort}. Name a rating of that kind."
        )
    if plan.form and record.plan.form and plan.form != record.plan.form:
        raise NotToBeJudged(
            f"The rating {plan.rating.rating} is for parts of {FORMS[plan.form].called}; run {record.run} tested one"
            f" of {FORMS[record.plan.form].called}. Name a rating of that form."
        )


def _under(plan: Plan, made: Plan, finding: Finding) -> Finding:
    """The finding, or that it was not tested under the conditions of `plan`."""
    if isinstance(finding, NotTested):
        return finding
    asked, had = _conditions(plan, finding.id), _conditions(made, finding.id)
    other = [name for name in asked if name in had and asked[name] != had[name]]
    if not other:
        return finding
    told = "; ".join(f"{name} {had[name]}, not {asked[name]}" for name in other)
    return NotTested(id=finding.id, reason=f"it was measured with {told} as {plan.protocol} asks")


def _conditions(plan: Plan, id: str) -> dict[str, str]:
    """What the steps that give a measurement set, in words; of several steps the last counts, as its reading does."""
    found: dict[str, str] = {}
    for step in plan.steps:
        if id in yields(step, plan.rating):
            found |= _settings(step, plan)
    return found


def _settings(step: Step, plan: Plan) -> dict[str, str]:
    plain = {name: getattr(step, name) for name in UNITS if hasattr(step, name)}
    unset = plan.strongest_v if step.measure == "thresholds" else plan.rating.system_v
    words = {name: show(unset if value is None else value, UNITS[name]) for name, value in plain.items()}
    return words | ({"clamp": step.clamp} if hasattr(step, "clamp") else {})
