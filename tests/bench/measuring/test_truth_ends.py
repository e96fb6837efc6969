"""Truth is found of any part: where its pull rests at the very force of friction, where its bounces come in twos."""

import random

import pytest
import specimens
import truth

from pulldrop.plant.relay import motion


def test_a_pull_that_rests_where_friction_just_holds_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """The armature was set free and found held, again and again, in no time at all: the campaign never ended."""
    chance, steps, step = random.Random("8462:171"), 0, motion.step
    base = chance.choices(specimens.BASES, specimens.SHARES)[0]

    def counted(*arguments: object) -> None:
        nonlocal steps
        steps += 1
        assert steps < 20_000, "it goes on for ever"
        step(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr("pulldrop.plant.relay.relay.step", counted)
    assert truth.thresholds(specimens.specimen(base, chance), 12.0)["pull_in_voltage"] == pytest.approx(7.457, abs=0.01)


def test_the_typical_bounce_of_a_part_in_two_groups_is_that_of_the_larger_one() -> None:
    """Of 401 moves 0.53 bounce for 2.05 ms, the others for 1.76; 25 moves took those for the larger group."""
    chance = random.Random("7402:14")
    base = chance.choices(specimens.BASES, (4, 2, 2, 0))[0]
    found = truth.times(specimens.specimen(base, chance), 11.9)["bounce_time_nc"]
    assert found == pytest.approx(2.049e-3, rel=0.01)
