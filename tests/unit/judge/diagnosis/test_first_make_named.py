"""What goes wrong once, after a rest, has a name of its own: known from the first make alone, without a reference."""

import pytest
from test_diagnosis import at, readings

from pulldrop.judge.diagnosis import diagnose
from pulldrop.model.reading import MOVED, RESTED, ConditionName, Finding, NotTested, Reading, coded

WINDOW_S = 0.03
GOOD = {"first_operate_time": 5.7e-3, "first_drop_no": 0.031, "first_drop_nc": 0.029}


def missed(code: str) -> Reading:
    """A first make without a contact's change in its window; `code`: what the coil's current says of the armature."""
    armature = coded(code, "by the coil's current").model_copy(update={"name": ConditionName.ARMATURE})
    return Reading(id="first_operate_time", unit="s", value=WINDOW_S, bound=">", conditions=(armature,))


def first(*found: Finding, **changed: float | str | None) -> list[Finding]:
    ids = {one.id for one in found}
    return [*(one for one in readings(**GOOD | changed) if one.id not in ids), *found]


OPEN = NotTested(id="first_drop_no", reason="it was open when its first load was due")


def named(found: list[Finding]) -> str:
    faults = diagnose(at(), found).faults
    return faults[0].id if faults else ""


def test_a_first_make_like_later_ones_names_nothing() -> None:
    assert named(first()) == ""
    assert named(first(first_operate_time=6.3e-3, first_drop_no=0.045, first_drop_nc=0.02)) == ""


def test_an_armature_that_does_not_move_the_first_time_sticks_after_rest() -> None:
    assert named(first(missed(RESTED), OPEN)) == "sticks_after_rest"
    assert named(first(first_operate_time=16e-3)) == "sticks_after_rest"


def test_a_contact_that_is_open_while_the_armature_moves_the_first_time_insulates_after_rest() -> None:
    assert named(first(missed(MOVED), OPEN)) == "insulates_after_rest_no"


@pytest.mark.parametrize("throw", ("no", "nc"))
def test_a_first_load_that_meets_many_times_the_later_drop_insulates_after_rest(throw: str) -> None:
    assert named(first(**{f"first_drop_{throw}": 1.2})) == f"insulates_after_rest_{throw}"


def test_a_part_that_operates_at_no_nominal_make_has_no_contact_that_insulates_after_rest() -> None:
    """The walk to pull-in, which goes higher, moved it, and it stayed: its contact carried its load then."""
    gone = dict.fromkeys(("release_time", "bounce_time_no", "bounce_time_nc", "contact_drop_nc", "pull_in_current"))
    never = Reading(id="operate_time", unit="s", value=WINDOW_S, bound=">")
    held = first(missed(RESTED), OPEN, never, **gone, contact_operated="30-87=1 30-87a=0", drop_out_voltage=None)
    assert not {one.id for one in diagnose(at(), held).faults} & {"insulates_after_rest_no", "sticks_after_rest"}


def test_a_part_that_never_operates_is_stuck_and_one_with_a_dead_contact_dead() -> None:
    gone = dict.fromkeys(("release_time", "bounce_time_no", "bounce_time_nc", "contact_drop_no"))
    late: dict[str, float | str | None] = {"operate_time": None, "contact_operated": "30-87=0 30-87a=1", **gone}
    assert not named(first(missed(RESTED), OPEN, **late)).endswith("after_rest")
    drop = Reading(id="first_drop_no", unit="V", value=3.5, bound=">")
    later = Reading(id="contact_drop_no", unit="V", value=3.5, bound=">")
    assert named(first(drop, later, contact_before_load_no=20.0, contact_after_load_no=20.0)) == "dead_no"
