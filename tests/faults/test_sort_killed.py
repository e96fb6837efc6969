"""However often a crate's program is killed, every part ends in its bin, once, and the tally says so."""

import random
from functools import partial
from pathlib import Path

import pytest
from calibrated import calibrate_virtual
from killed_crate import (
    ENDED,
    KILLED,
    WANTED,
    after,
    all_is_right,
    from_stock,
    in_a_process,
    kept_in,
    killed_at,
    sort,
)

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.judge import decide
from pulldrop.judge.crate.bins import choose
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure import StepStarted, perform
from pulldrop.protocol.crate import sorting

SMALL = ("good-12v-changeover",)


@pytest.mark.parametrize("name", [one for one in WANTED if WANTED[one] != "look again"])
def test_the_bins_that_the_crates_are_held_to_are_those_of_the_full_protocol(name: str) -> None:
    crate = sorting("crate-relay", "class-mini-12v-form-c")
    with VirtualBoard(specimens.find(name).specimen, 3) as board:
        found = [f for f in perform(crate.full, board, calibrate_virtual(3)) if not isinstance(f, StepStarted)]
    judged = [decide(one, crate.full.limits.get(one.id)) for one in found]
    assert choose(crate.rules, crate.full, judged, *diagnose(crate.full, found)).bin == WANTED[name]


@pytest.mark.slow
def test_killed_at_every_step_the_crate_goes_on_and_ends_right(tmp_path: Path) -> None:
    """Where nothing came onto the disk since the point before, going on is the same, and is not tried again."""
    whole, states = tmp_path / "whole", tmp_path / "states"
    whole.mkdir()
    states.mkdir()
    how, points = in_a_process(partial(sort, whole, from_stock(SMALL), kept_in(states, whole)))
    assert how == ENDED
    all_is_right(whole, [WANTED[one] for one in SMALL])
    left = sorted(states.iterdir())
    assert points > len(left) > 20
    for state in left:
        how, _ = in_a_process(partial(sort, state, from_stock(SMALL)))
        assert how == ENDED
        all_is_right(state, [WANTED[one] for one in SMALL])


@pytest.mark.slow
def test_killed_again_and_again_after_a_few_steps_the_crate_still_ends_right(tmp_path: Path) -> None:
    names = tuple(WANTED)[::2]
    how, starts = KILLED, 0
    while how == KILLED:
        starts += 1
        assert starts < 200
        how, _ = in_a_process(partial(sort, tmp_path, from_stock(names), killed_at(63 + 7 * (starts % 5))))
    assert how == ENDED and starts > 5
    all_is_right(tmp_path, [WANTED[one] for one in names])


def test_killed_at_random_moments_the_crate_ends_right(tmp_path: Path) -> None:
    chance, names = random.Random(6), tuple(WANTED)
    for _ in range(10):
        how, _ = in_a_process(partial(sort, tmp_path, from_stock(names)), after(chance.uniform(0.1, 0.6)))
        assert how in (KILLED, ENDED)
    how, _ = in_a_process(partial(sort, tmp_path, from_stock(names)))
    assert how == ENDED
    all_is_right(tmp_path, [*WANTED.values()])
