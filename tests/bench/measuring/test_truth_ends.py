"""A part whose pull comes to rest at the very force that friction holds, to the last bit, is walked to its end."""

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
