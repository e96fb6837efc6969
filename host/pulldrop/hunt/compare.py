"""A rule beside that of the last time: what is no longer needed, what is needed now.

Rule: paths are matched by the conditions that they share; one without a match is gone or new.
"""

from collections.abc import Iterator
from functools import partial

from pulldrop.model.hunt.outcome import ChangeKind, HuntOutcome, RuleChange
from pulldrop.model.hunt.rule import TriggerPath


def changes(last: HuntOutcome, now: HuntOutcome) -> tuple[RuleChange, ...]:
    """What differs between two outcomes of one wire; none where nothing does."""
    made: list[RuleChange] = []
    if last.grade is not now.grade:
        made.append(RuleChange(kind=ChangeKind.GRADE, was=last.grade, now=now.grade))
    if last.rule is None or now.rule is None:
        return tuple(made)
    if last.rule.memory != now.rule.memory:
        made.append(RuleChange(kind=ChangeKind.MEMORY))
    left = list(now.rule.paths)
    for path in last.rule.paths:
        match = max(left, key=partial(_shared, path), default=None)
        if match is None or not _shared(path, match):
            made.append(RuleChange(kind=ChangeKind.PATH_GONE, was=path))
            continue
        left.remove(match)
        made += _differences(path, match)
    made += [RuleChange(kind=ChangeKind.PATH_NEW, now=path) for path in left]
    return tuple(made)


def _shared(one: TriggerPath, other: TriggerPath) -> int:
    """Equal conditions count double, equal controls once."""
    controls = {condition.control for condition in one.conditions}
    return sum(2 if condition in one.conditions else condition.control in controls for condition in other.conditions)


def _differences(was: TriggerPath, now: TriggerPath) -> Iterator[RuleChange]:
    before = {one.control: one for one in was.conditions}
    after = {one.control: one for one in now.conditions}
    for control, condition in before.items():
        if control not in after:
            yield RuleChange(kind=ChangeKind.NO_LONGER_NEEDED, was=condition)
        elif after[control] != condition:
            yield RuleChange(kind=ChangeKind.OTHER_POSITIONS, was=condition, now=after[control])
    for control, condition in after.items():
        if control not in before:
            yield RuleChange(kind=ChangeKind.NOW_NEEDED, now=condition)
