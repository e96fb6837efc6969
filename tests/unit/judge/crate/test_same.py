"""Statements about knowing a part again: one part read twice, two parts of a crate, and parts with one fault."""

import random

import pytest

from pulldrop.judge.crate.same import ASK_FROM, Population, Values, likeliest, odds

CENTRE = {
    "coil_resistance_20c": (90.0, 0.05, 0.0012), "pull_in_current": (0.07, 0.08, 0.012),
    "drop_out_voltage": (2.5, 0.14, 0.021), "operate_time": (0.0049, 0.09, 0.003),
    "release_time": (0.003, 0.3, 0.0034), "transfer_time": (0.0008, 0.1, 0.0032),
}  # fmt: skip
"""Mean, spread among parts, and standard uncertainty, the last two as shares: those of virtual parts on the screen."""


def truth(chance: random.Random) -> dict[str, float]:
    return {id: mean * (1 + max(chance.gauss(0, spread), -0.9)) for id, (mean, spread, _) in CENTRE.items()}


def read(true: dict[str, float], chance: random.Random) -> Values:
    return {id: (value * (1 + chance.gauss(0, CENTRE[id][2])), CENTRE[id][2] * value) for id, value in true.items()}


@pytest.fixture(scope="module")
def lot() -> tuple[list[dict[str, float]], dict[int, Values]]:
    chance = random.Random(3)
    true = [truth(chance) for _ in range(60)]
    return true, {number: read(one, chance) for number, one in enumerate(true, 1)}


def test_a_part_that_comes_again_is_known_by_its_number(lot: tuple[list[dict[str, float]], dict[int, Values]]) -> None:
    true, crate = lot
    chance = random.Random(4)
    found = [likeliest(read(one, chance), crate) for one in true]
    right = [one is not None and one[0] == number for number, one in enumerate(found, 1)]
    assert sum(right) >= 0.9 * len(true)
    assert all(one is None or one[1] >= ASK_FROM for one in found)


def test_a_new_part_is_hardly_ever_taken_for_another(lot: tuple[list[dict[str, float]], dict[int, Values]]) -> None:
    chance = random.Random(5)
    found = [likeliest(read(truth(chance), chance), lot[1]) for _ in range(300)]
    assert sum(one is not None for one in found) <= 0.02 * len(found)


def test_two_odd_parts_alike_in_one_value_are_not_one_part(
    lot: tuple[list[dict[str, float]], dict[int, Values]],
) -> None:
    chance = random.Random(6)
    crate = dict(lot[1])
    one, other = truth(chance), truth(chance)
    one["coil_resistance_20c"] = other["coil_resistance_20c"] = 45.0  # both with shorted turns
    crate[61] = read(one, chance)
    assert likeliest(read(other, chance), crate) is None


def test_too_little_in_common_says_nothing(lot: tuple[list[dict[str, float]], dict[int, Values]]) -> None:
    coil: Values = {"coil_resistance_20c": (90.0, 0.1)}
    assert odds(coil, coil, Population.of([*lot[1].values()])) == 0.0
    assert likeliest(coil, lot[1]) is None
