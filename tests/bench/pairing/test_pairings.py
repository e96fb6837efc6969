"""A small campaign of fuses and lamps in the normal suite: none that is bad passes, and a wrong answer is counted."""

from dataclasses import replace

import pairings
import pytest

PARTS, SEED = 30, 5


@pytest.fixture(scope="module")
def results() -> list[pairings.Result]:
    return [pairings.one_part(number, SEED, "own") for number in range(PARTS)]


def test_no_bad_part_passes_and_no_sound_one_is_accused(results: list[pairings.Result]) -> None:
    bad = [one for one in results if one.drawn.fault]
    assert len(bad) > PARTS / 3 and not any(one.passed for one in bad)
    assert not [one.named for one in results if not one.drawn.fault and one.named]


def test_a_wrong_answer_is_counted(results: list[pairings.Result]) -> None:
    sound = next(one for one in results if not one.drawn.fault)
    faulty = next(one for one in results if one.drawn.fault)
    outside = replace(sound, named=("fuse_larger",), inside=(False,))
    passed = replace(faulty, named=(), overall=pairings.Overall.PASS)
    assert [one.state for one in pairings.goals([outside, passed] * 200)].count("missed") == 4
