"""What an outcome says, and how it is compared with the last one."""

from wired import Driven

from pulldrop.hunt.compare import changes
from pulldrop.hunt.session import Hunt
from pulldrop.model.hunt.control import key, latching, momentary
from pulldrop.model.hunt.look import WireLevel
from pulldrop.model.hunt.outcome import ChangeKind, Grade, HuntOutcome
from pulldrop.model.hunt.rule import Condition, TriggerPath, TriggerRule

CABIN = (key(), latching("lights"), latching("blind light"), momentary("bell push"))
ON = Condition(control="key", positions=(2,))
LIT = Condition(control="lights", positions=(1,))
BELL = Condition(control="bell push", positions=(1,))


def outcome(*paths: tuple[Condition, ...], grade: Grade = Grade.PROVED) -> HuntOutcome:
    rule = TriggerRule(paths=tuple(TriggerPath(conditions=one) for one in paths))
    return HuntOutcome(grade=grade, rule=rule if paths else None, left=0.02, steps=20)


def test_every_setting_that_was_looked_at_is_a_row_of_the_table() -> None:
    run = Driven(Hunt(CABIN), lambda p: p[0] == 2 and p[1]).run()
    rows = run.hunt.result().table
    assert sum(sum(row.seen.values()) for row in rows) == len(run.hunt.record.looks)
    assert len({row.positions for row in rows}) == len(rows)
    for row in rows:
        assert set(row.seen) == {WireLevel.ON if row.positions[0] == 2 and row.positions[1] else WireLevel.OPEN}


def test_the_drawing_has_series_in_a_branch_and_branches_in_parallel() -> None:
    run = Driven(Hunt(CABIN), lambda p: (p[0] == 2 and p[1]) or p[3]).run()
    drawing = run.hunt.result().drawing
    assert drawing is not None and drawing.button is None
    assert {frozenset(branch.switches) for branch in drawing.branches} == {frozenset({ON, LIT}), frozenset({BELL})}


def test_an_outcome_survives_being_stored() -> None:
    made = Driven(Hunt(CABIN), lambda p: p[1]).run().hunt.result()
    assert HuntOutcome.model_validate_json(made.model_dump_json()) == made


def test_the_same_rule_is_no_change() -> None:
    assert changes(outcome((ON, LIT), (BELL,)), outcome((BELL,), (ON, LIT))) == ()


def test_a_part_that_is_no_longer_needed_is_named() -> None:
    (change,) = changes(outcome((ON, LIT, BELL)), outcome((ON, LIT)))
    assert (change.kind, change.was, change.now) == (ChangeKind.NO_LONGER_NEEDED, BELL, None)
    (change,) = changes(outcome((ON, LIT)), outcome((ON, LIT, BELL)))
    assert (change.kind, change.now) == (ChangeKind.NOW_NEEDED, BELL)


def test_other_positions_paths_and_grades_are_named() -> None:
    acc = Condition(control="key", positions=(1, 2))
    (change,) = changes(outcome((ON, LIT)), outcome((acc, LIT)))
    assert (change.kind, change.was, change.now) == (ChangeKind.OTHER_POSITIONS, ON, acc)
    assert [one.kind for one in changes(outcome((ON, LIT), (BELL,)), outcome((ON, LIT)))] == [ChangeKind.PATH_GONE]
    assert [one.kind for one in changes(outcome((ON,)), outcome((ON,), (BELL,)))] == [ChangeKind.PATH_NEW]
    lost = changes(outcome((ON,)), outcome(grade=Grade.NOT_FOUND))
    assert [one.kind for one in lost] == [ChangeKind.GRADE]
