"""Statements about bins and repeated makes: what is certain, what is not, and what may never be kept."""

import math
import random

import pytest
import records
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.judge.crate.bins import choose
from pulldrop.judge.crate.quick import doubtful
from pulldrop.judge.crate.sequential import RISK, enough
from pulldrop.model.crate.crate import Bin
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.relay import FORMS
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Judged, Outcome
from pulldrop.protocol.crate import sorting

CRATE = sorting("crate-relay", "class-mini-12v-form-c")
PLAN: Plan = CRATE.screen


def judged(plan: Plan = PLAN, /, **outcomes: Outcome) -> list[Judged]:
    """A whole run in which everything passes with a contact drop of 30 mV, but for what is named."""
    return [
        records.judge(finding(id, outcomes.get(id)), outcomes.get(id, Outcome.PASS), "invented") for id in plan.wanted
    ]


def finding(id: str, outcome: Outcome | None) -> Reading | NotTested:
    if outcome is Outcome.NOT_TESTED:
        return NotTested(id=id, reason="invented")
    if not MEASUREMENTS[id].unit:
        return records.reading(id, None, state=FORMS["C"].at("rest"))
    return records.reading(id, 0.03 if "drop_n" in id else 1.0, 0.001)


def without(run: list[Judged], *ids: str) -> list[Judged]:
    return [one for one in run if one.id not in ids]


def drop(run: list[Judged], id: str, volts: float, u: float = 0.001) -> list[Judged]:
    """The same run with another contact drop."""
    return [one.model_copy(update={"finding": records.reading(id, volts, u)}) if one.id == id else one for one in run]


def bin_of(run: list[Judged]) -> tuple[Bin, bool]:
    choice = choose(CRATE.rules, PLAN, run, ())
    return choice.bin, choice.certain


def test_a_part_that_meets_everything_is_kept() -> None:
    assert bin_of(judged()) == (Bin.KEEP, True)


def test_a_contact_between_100_and_200_mv_is_for_light_duty() -> None:
    assert bin_of(drop(judged(), "contact_drop_no", 0.15)) == (Bin.LIGHT_DUTY, True)


def test_a_drop_too_near_to_100_mv_is_not_certain_and_never_kept() -> None:
    assert bin_of(drop(judged(), "contact_drop_no", 0.1, 0.005)) == (Bin.LIGHT_DUTY, False)


def test_a_screen_keeps_nothing_whose_drop_it_cannot_tell_from_100_mv() -> None:
    near = drop(judged(), "contact_drop_no", 0.099, 0.0001)
    assert bin_of(near) == (Bin.KEEP, True), "the full protocol can"
    assert not choose(CRATE.rules, PLAN, near, (), doubt=doubtful).certain


def test_a_burnt_nc_beside_a_sound_no_is_for_light_duty() -> None:
    assert bin_of(judged(contact_drop_nc=Outcome.FAIL)) == (Bin.LIGHT_DUTY, True)
    assert bin_of(judged(contact_drop_nc=Outcome.FAIL, bounce_time_nc=Outcome.FAIL)) == (Bin.LIGHT_DUTY, True)


@pytest.mark.parametrize(
    ("failed", "bin"),
    [
        (("first_drop_nc",), Bin.LIGHT_DUTY),
        (("first_drop_nc", "contact_drop_nc", "bounce_time_nc"), Bin.LIGHT_DUTY),
        (("first_drop_no",), Bin.SCRAP),
        (("first_drop_no", "first_drop_nc"), Bin.SCRAP),
        (("first_operate_time",), Bin.SCRAP),
    ],
)
def test_what_the_first_make_says_of_a_throw_counts_as_that_throws_alone(failed: tuple[str, ...], bin: Bin) -> None:
    run = judged(CRATE.full, **dict.fromkeys(failed, Outcome.FAIL))
    choice = choose(CRATE.rules, CRATE.full, run, ())
    assert (choice.bin, choice.certain) == (bin, True)
    assert bin is not Bin.LIGHT_DUTY or "not 87a" in choice.why


def test_a_burnt_nc_beside_a_worn_no_is_scrap() -> None:
    assert bin_of(drop(judged(contact_drop_nc=Outcome.FAIL), "contact_drop_no", 0.15)) == (Bin.SCRAP, True)


def test_one_failure_is_certain_scrap_although_nothing_else_was_measured() -> None:
    coil = [
        one for one in judged(coil_resistance_20c=Outcome.FAIL) if one.id in ("contact_rest", "coil_resistance_20c")
    ]
    assert bin_of(coil) == (Bin.SCRAP, True)


def test_a_burnt_nc_is_not_certain_before_the_rest_is_known() -> None:
    half = without(judged(contact_drop_nc=Outcome.FAIL), "pull_in_voltage_20c", "drop_out_voltage")
    assert not bin_of(half)[1]


@pytest.mark.parametrize("outcome", [Outcome.UNSURE, Outcome.NOT_TESTED])
def test_what_is_not_known_is_looked_at_again(outcome: Outcome) -> None:
    assert bin_of(judged(drop_out_voltage=outcome)) == (Bin.LOOK_AGAIN, False)


OUTCOMES = st.sampled_from([Outcome.PASS, Outcome.FAIL, Outcome.UNSURE, Outcome.NOT_TESTED])


@given(st.fixed_dictionaries({id: OUTCOMES for id in PLAN.limits}), st.sets(st.sampled_from(PLAN.wanted)))
def test_nothing_that_was_not_measured_in_full_is_ever_kept(outcomes: dict[str, Outcome], gone: set[str]) -> None:
    bin, _ = bin_of(without(judged(**outcomes), *gone))
    if gone or set(outcomes.values()) != {Outcome.PASS}:
        assert bin is not Bin.KEEP


@given(st.fixed_dictionaries({id: OUTCOMES for id in PLAN.limits}), st.integers(0, len(PLAN.wanted)))
def test_a_certain_bin_stays_whatever_comes_after(outcomes: dict[str, Outcome], known: int) -> None:
    run = judged(**outcomes)
    early, certain = bin_of(run[:known])
    if certain:
        assert bin_of(run)[0] is early


# --- repeated makes ---


def test_two_like_makes_far_from_every_edge_are_enough_and_one_never_is() -> None:
    assert enough([0.030, 0.031], [0.1, 0.2])
    assert not enough([0.030], [0.1, 0.2])


def test_makes_near_an_edge_or_scattered_go_on() -> None:
    assert not enough([0.098, 0.099], [0.1])
    assert not enough([0.03, 0.09], [0.1])


def test_makes_without_an_edge_end_at_the_least() -> None:
    assert enough([1.0, 2.0], [])


@pytest.mark.parametrize("share", [0.8, 1.25])
def test_makes_end_on_the_wrong_side_of_an_edge_no_oftener_than_stated(share: float) -> None:
    chance, edge, wrong, runs = random.Random(4), 0.1, 0, 2000
    for _ in range(runs):
        makes: list[float] = []
        while not enough(makes, [edge]) and len(makes) < 10:
            makes.append(edge * share * math.exp(chance.gauss(0, 0.1)))
        middle = sorted(makes)[len(makes) // 2]
        wrong += enough(makes, [edge]) and (middle > edge) != (share > 1)
    assert wrong / runs < 2 * RISK
