"""A small campaign of switches in the normal suite: nothing wrong without a doubt, and a wrong table is counted."""

import pytest
import switches

from pulldrop.model.verdict import Outcome

PARTS, SEED = 24, 12


@pytest.fixture(scope="module")
def results() -> list[switches.Result]:
    return switches.campaign(SEED, PARTS)


def test_no_table_is_wrong_without_a_doubt(results: list[switches.Result]) -> None:
    assert [one.wrong for one in results if one.wrong and not one.marked] == []


def test_sound_switches_are_right(results: list[switches.Result]) -> None:
    sound = [one for one in results if switches.plain(one)]
    assert len(sound) > PARTS / 3
    assert [one.wrong for one in sound if one.wrong] == []


def test_no_sound_switch_fails_by_its_design_and_no_other_passes(results: list[switches.Result]) -> None:
    judged = [one.as_designed for one in results if switches.plain(one) and one.as_designed is not None]
    assert len(judged) > PARTS / 4 and Outcome.FAIL not in judged and judged.count(Outcome.PASS) > len(judged) / 2
    off = [one.one_joint_off for one in results if one.one_joint_off is not None]
    assert Outcome.PASS not in off and off.count(Outcome.FAIL) > len(off) / 2


def test_a_table_that_is_wrong_is_counted(results: list[switches.Result]) -> None:
    one = next(r for r in results if r.table is not None and not r.wrong and r.drawn.truth.rows and not r.marked)
    assert one.table is not None
    fewer = one.table.model_copy(update={"positions": one.table.positions[1:]})
    assert switches.faults_of(one.drawn.truth, fewer) == ("positions",)
    wrong = [switches.Result(one.drawn, fewer, ("positions",))]
    assert [goal.state for goal in switches.goals(wrong * 20)].count("missed") == 2
