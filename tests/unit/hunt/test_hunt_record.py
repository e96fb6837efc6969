"""How far a look is trusted, and what reading the positions aloud changes."""

import numpy as np
import pytest

from pulldrop.hunt.record import DOUBT, ERROR, LATE, NO_CONTACT, Record
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.control import Precautions, key, latching, momentary
from pulldrop.model.hunt.look import WireLevel

ON, OFF = (WireLevel.ON, True), (WireLevel.OPEN, False)


def record() -> Record:
    return Record(Space([key(), latching("lights"), momentary("push")], Precautions()))


def settings(made: Record) -> list[list[int]]:
    return [look.setting.tolist() for look in made.looks]


def test_a_wrong_position_is_rewritten_since_the_control_was_last_named() -> None:
    made = record()
    made.add([(1, 1)], [OFF])
    made.add([(0, 2)], [OFF])
    made.add([(1, 0)], [OFF])
    made.add([(0, 1)], [OFF])
    assert made.read([1, 1, 0]) == [1]
    assert settings(made) == [[0, 1, 0], [2, 1, 0], [2, 1, 0], [1, 1, 0]]
    assert made.state.tolist() == [1, 1, 0]


def test_a_reading_shields_the_looks_before_it() -> None:
    made = record()
    made.add([(1, 1)], [OFF])
    assert made.read([0, 1, 0]) == []
    made.add([(0, 2)], [OFF])
    assert made.read([2, 0, 0]) == [1], "somebody moved it without being asked"
    assert settings(made) == [[0, 1, 0], [2, 0, 0]]


def test_reading_takes_the_doubt_from_what_was_not_named_since() -> None:
    made = record()
    made.add([(1, 1)], [ON])
    made.add([(1, 0)], [OFF])
    first, second = made.looks
    assert first.doubt == second.doubt == {1}
    made.read([0, 0, 0])
    assert first.doubt == {1} and second.doubt == set()
    assert second.wrong == pytest.approx((ERROR, ERROR + NO_CONTACT))
    assert first.wrong[0] == pytest.approx(ERROR + DOUBT)


def test_letting_a_button_go_needs_no_reading() -> None:
    made = record()
    made.read([0, 0, 0])
    made.add([(2, 1), (2, 0)], [ON, OFF])
    assert made.state.tolist() == [0, 0, 0]
    made.read([0, 0, 0])
    assert made.looks[1].doubt == set()


def test_a_hasty_dead_look_weighs_less_and_the_last_of_a_step_is_none() -> None:
    made = record()
    made.add([(1, 1), (0, 2)], [OFF, OFF], hasty=True)
    first, last = made.looks
    assert first.wrong[1] - first.wrong[0] == pytest.approx(NO_CONTACT + LATE)
    assert last.wrong[1] - last.wrong[0] == pytest.approx(NO_CONTACT)


def test_a_setting_is_settled_by_two_steps_that_agree_with_every_position_read() -> None:
    made = record()
    made.add([(1, 1)], [ON])
    made.read([0, 1, 0])
    assert [one.settled for one in made.tallies()] == [None]
    made.add([(1, 0), (1, 1)], [OFF, ON])
    made.read([0, 1, 0])
    lit = next(one for one in made.tallies() if one.setting[1] == 1)
    assert lit.settled is True
    made.add([(1, 0), (1, 1)], [OFF, OFF])
    made.read([0, 1, 0])
    assert next(one for one in made.tallies() if one.setting[1] == 1).settled is None


def test_steps_at_names_the_steps_that_saw_it() -> None:
    made = record()
    made.add([(1, 1)], [ON])
    made.add([(1, 0)], [OFF])
    made.add([(1, 1)], [OFF])
    lit = np.array([0, 1, 0], np.int8)
    assert (made.steps_at(lit, True), made.steps_at(lit, False), made.steps_at(lit, False, 3)) == ({1}, {3}, set())


def test_taps_and_hasty_looks_are_steps_of_no_proof() -> None:
    made = record()
    made.add([(1, 1)], [ON], tapped=True)
    made.add([(1, 0), (1, 1), (0, 1)], [OFF, ON, ON], hasty=True)
    lit = np.array([0, 1, 0], np.int8)
    assert made.steps_at(lit, True) == set()
    assert made.steps_at(np.array([1, 1, 0], np.int8), True) == {2}


def test_a_look_that_proves_nothing_is_not_kept() -> None:
    made = record()
    made.add([(1, 1), (0, 2)], [None, ON])
    assert settings(made) == [[2, 1, 0]]
