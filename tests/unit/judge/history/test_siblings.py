"""Statements about siblings: a part is outside only when lot and uncertainty together leave it there."""

import random

import pytest

from pulldrop.judge.history.siblings import apart
from pulldrop.judge.history.trend import scatter

LOT = {f"p{n}": (value, 0.001) for n, value in enumerate((0.020, 0.021, 0.019, 0.020, 0.022, 0.018))}


def test_a_burnt_contact_stands_outside_and_its_siblings_do_not() -> None:
    (found,) = apart({**LOT, "odd": (0.09, 0.001)})
    assert found.part == "odd" and found.score > 20 and found.median == 0.020


def test_two_odd_parts_of_eight_do_not_hide_each_other() -> None:
    found = apart({**LOT, "a": (0.09, 0.001), "b": (0.2, 0.001)})
    assert [one.part for one in found] == ["b", "a"], "a mean and a standard deviation would have let both pass"


def test_a_reading_that_is_unsure_enough_is_not_called_outside() -> None:
    assert apart({**LOT, "odd": (0.09, 0.03)}) == ()


def test_four_parts_have_no_usual_value() -> None:
    assert apart({"a": (1, 0.1), "b": (1, 0.1), "c": (1, 0.1), "d": (9, 0.1)}) == ()


def test_parts_all_alike_are_none_of_them_outside() -> None:
    assert apart({f"p{n}": (1.0, 0.0) for n in range(6)}) == ()


def test_a_steady_drift_is_not_taken_for_scatter() -> None:
    assert scatter([0.1 * n for n in range(20)]) < 1e-12
    chance = random.Random(5)
    shown = [scatter([3 * n + chance.gauss(0, 1) for n in range(8)]) for _ in range(3000)]
    assert sum(shown) / 3000 == pytest.approx(1.0, abs=0.15), "a little wide, so never a false alarm more"
