"""Which bin a part goes into, and whether anything still to be measured could change that.

Each condition of a rule holds, does not hold, or is not known: a reading that is missing, or too near its limit.
A bin is certain when no rule above it that is not known would give another one. What the protocol is not for is looked
at again, whatever the rules say, and so is what a person may mend. Rule: nothing but a run in which all that was wanted
was measured puts a part into keep or light duty.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from pulldrop.judge.decide import LOADED, decide
from pulldrop.model.crate.crate import Bin
from pulldrop.model.crate.sorting import Rule
from pulldrop.model.limit import Limit
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.run.fault import NOT_JUDGED, TEST_AGAIN, NamedFault, Unlike
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Judged, Outcome

Known = bool | None
"""None: not known."""
Doubt = Callable[[Reading, Limit], bool]
"""Whether it is not known on which side of a limit a reading lies, whatever its budget says."""
UNPLACED = "the bench cannot tell, or not all could be tested"


@dataclass(frozen=True, slots=True)
class Choice:
    """A bin and why; `certain`: nothing that is not known yet could change it."""

    bin: Bin
    why: str
    certain: bool


def choose(
    rules: Sequence[Rule],
    plan: Plan,
    judged: Sequence[Judged],
    faults: Sequence[NamedFault] | None = None,
    unlike: Unlike | None = None,
    doubt: Doubt = lambda _reading, _limit: False,
) -> Choice:
    """The bin by what is known now. `faults` is None as long as the diagnosis was not made.

    What a part that is `unlike` its class may have counts like a named fault only where a limit fails as well.
    """
    if faults and faults[0].id in NOT_JUDGED:
        return Choice(Bin.LOOK_AGAIN, faults[0].advice, True)
    by_id = {one.id: one for one in judged if one.id not in plan.beyond}
    other_bins: set[Bin] = set()
    for rule in rules:
        holds = _holds(rule, plan, by_id, _found(rule, faults, unlike), doubt)
        if holds and rule.bin is Bin.SCRAP and faults and faults[0].id in TEST_AGAIN:
            return Choice(Bin.LOOK_AGAIN, faults[0].advice, True)
        if holds:
            return Choice(rule.bin, rule.why, other_bins <= {rule.bin})
        if holds is None:
            other_bins.add(rule.bin)
    return Choice(Bin.LOOK_AGAIN, UNPLACED, not other_bins)


def _holds(rule: Rule, plan: Plan, by_id: Mapping[str, Judged], found: Sequence[str] | None, doubt: Doubt) -> Known:
    asked: list[Known] = []
    if rule.passes:
        asked.append(_passes(plan, by_id))
    if rule.fails:
        asked.append(_one_fails([id for id in _asked_of(plan) if id in rule.fails], by_id))
    if rule.but_for:
        asked.append(_all([_state(id, by_id) for id in _asked_of(plan) if id not in rule.but_for]))
    asked += [_within(by_id.get(id), limit, doubt) for id, limit in rule.within.items()]
    if rule.found:
        asked.append(None if found is None else not set(found).isdisjoint(rule.found))
    return _all(asked)


def _asked_of(plan: Plan) -> list[str]:
    """What this bench can measure of what the plan wants."""
    return [id for id in plan.wanted if id not in plan.beyond]


def _found(rule: Rule, faults: Sequence[NamedFault] | None, unlike: Unlike | None) -> Sequence[str] | None:
    """Ids of what is wrong, by this rule's lights; None when that is not known."""
    if faults or faults is None:
        return None if faults is None else [faults[0].id]
    return unlike.may_be[:1] if unlike and rule.fails else ()


def _all(asked: Sequence[Known]) -> Known:
    if False in asked:
        return False
    return None if None in asked else True


def _state(id: str, by_id: Mapping[str, Judged]) -> Known:
    """Whether one measurement is as it must be: True also for one without a limit, once it was measured."""
    one = by_id.get(id)
    if one is None or one.outcome in (Outcome.NOT_TESTED, Outcome.UNSURE):
        return None
    return one.outcome is not Outcome.FAIL


def _passes(plan: Plan, by_id: Mapping[str, Judged]) -> Known:
    loaded = [id for id in plan.wanted if id in LOADED]
    if not loaded or any(id in by_id and isinstance(by_id[id].finding, NotTested) for id in loaded):
        return False if _one_fails(_asked_of(plan), by_id) else None
    return _all([_state(id, by_id) for id in _asked_of(plan)])


def _one_fails(ids: Sequence[str], by_id: Mapping[str, Judged]) -> Known:
    states = [one.outcome if (one := by_id.get(id)) else None for id in ids]
    if Outcome.FAIL in states:
        return True
    return None if any(one in (None, Outcome.UNSURE, Outcome.NOT_TESTED) for one in states) else False


def _within(one: Judged | None, limit: Limit, doubt: Doubt) -> Known:
    if one is None or not isinstance(one.finding, Reading) or doubt(one.finding, limit):
        return None
    outcome = decide(one.finding, limit).outcome
    return None if outcome is Outcome.UNSURE else outcome is Outcome.PASS
