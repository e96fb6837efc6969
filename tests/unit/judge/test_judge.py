"""Statements about outcomes and verdicts: when a part is good, bad, or not known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.judge import decide, judge_finding, verdict
from pulldrop.judge.decide import RISK, conformance
from pulldrop.model.coverage import Spread
from pulldrop.model.limit import Limit, Source
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS
from pulldrop.model.reading import Condition, ConditionName, NotTested, Reading, Term, state_of
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.verdict import Judged, Outcome, Overall

SOURCE = Source(text="invented for this test", known="assumed")


def volts(value: float, u: float = 0.0, bound: str = "=") -> Reading:
    budget = (Term(name="all", u=u, why="invented"),) if u else ()
    return Reading.model_validate(
        {"id": "pull_in_voltage", "unit": "V", "value": value, "bound": bound, "budget": budget}
    )


def limit(low: float | None = None, high: float | None = None) -> Limit:
    return Limit(text="the limit", source=SOURCE, unit="V", low=low, high=high)


def state(code: str) -> Reading:
    return Reading(id="contact_rest", unit="", state=state_of(code))


REST = Limit(text="at rest", source=SOURCE, unit="", state=FORMS["C"].at("rest"))


@pytest.mark.parametrize(
    ("value", "outcome"), [(6.0, Outcome.PASS), (8.39, Outcome.UNSURE), (8.41, Outcome.UNSURE), (9.0, Outcome.FAIL)]
)
def test_a_limit_inside_the_uncertainty_makes_the_outcome_unsure(value: float, outcome: Outcome) -> None:
    assert decide(volts(value, u=0.1), limit(high=8.4)).outcome is outcome


def test_the_guard_band_is_that_of_the_stated_risk() -> None:
    # One-sided, N(0, 1): 2 % lie beyond 2.0537 standard deviations (tables of the normal distribution).
    assert decide(volts(8.4 - 2.06, u=1.0), limit(high=8.4)).outcome is Outcome.PASS
    assert decide(volts(8.4 - 2.05, u=1.0), limit(high=8.4)).outcome is Outcome.UNSURE
    assert decide(volts(8.4 + 2.05, u=1.0), limit(high=8.4)).outcome is Outcome.UNSURE
    assert decide(volts(8.4 + 2.06, u=1.0), limit(high=8.4)).outcome is Outcome.FAIL


def test_the_guard_band_of_a_makers_limit_is_that_of_its_own_distribution() -> None:
    # A rectangle of half-width sqrt(3) u: its last 2 % begin at 0.96 of the half-width.
    def judged(way: float) -> Outcome:
        budget = (Term(name="limit", u=1.0, why="invented", shape="rectangular"),)
        one = Reading(id="pull_in_voltage", unit="V", value=8.4 + way * 3**0.5, budget=budget)
        return decide(one, limit(high=8.4)).outcome

    assert [judged(way) for way in (-0.97, -0.95, 0.95, 0.97)] == [
        Outcome.PASS, Outcome.UNSURE, Outcome.UNSURE, Outcome.FAIL,
    ]  # fmt: skip


def test_a_range_narrower_than_the_uncertainty_is_never_a_pass() -> None:
    assert decide(volts(5.0, u=1.0), limit(low=4.9, high=5.1)).outcome is Outcome.UNSURE


@given(st.floats(-50, 50), st.floats(1e-6, 10), st.floats(-20, 20), st.floats(0, 20))
def test_pass_and_fail_never_exceed_the_risk(value: float, u: float, low: float, width: float) -> None:
    outcome = decide(volts(value, u), limit(low, low + width)).outcome
    good = conformance(value, Spread(u), low, low + width)
    assert (outcome is Outcome.PASS) == (good >= 1 - RISK)
    assert (outcome is Outcome.FAIL) == (good <= RISK)


def test_a_bound_beyond_the_limit_fails_and_one_short_of_it_is_unsure() -> None:
    assert decide(volts(16.8, bound=">"), limit(high=8.4)).outcome is Outcome.FAIL
    assert decide(volts(5.0, bound=">"), limit(high=8.4)).outcome is Outcome.UNSURE
    assert decide(volts(0.05, bound="<"), limit(low=1.2)).outcome is Outcome.FAIL
    assert decide(volts(0.05, bound="<"), limit(high=1.2)).outcome is Outcome.PASS


def test_a_throw_in_the_wrong_state_fails_without_a_number() -> None:
    assert decide(state("30-87=0 30-87a=1"), REST).outcome is Outcome.PASS
    assert decide(state("30-87=1 30-87a=0"), REST).outcome is Outcome.FAIL


def test_what_was_not_made_is_not_tested_and_says_why() -> None:
    judged = decide(NotTested(id="pull_in_voltage", reason="NO never closed"), limit(high=8.4))
    assert (judged.outcome, judged.reason) == (Outcome.NOT_TESTED, "NO never closed")


def test_a_reading_without_a_limit_is_noted_not_passed() -> None:
    assert decide(volts(6.0), None).outcome is Outcome.NOTED


def release(value: float, diode: bool = True) -> Reading:
    shown = (Condition(name=ConditionName.OWN_DIODE, text="across the coil"),) if diode else ()
    return Reading(id="release_time", unit="s", value=value, conditions=shown)


def test_a_release_may_take_15_ms_where_a_diode_was_found_unless_the_rating_is_of_parts_with_one() -> None:
    at = PLAN.model_copy(update={"limits": {"release_time": Limit(text="", source=SOURCE, unit="s", high=10e-3)}})
    rated, unrated = (
        at.model_copy(update={"rating": Rating.model_construct(nominal=12.0, suppression="diode", release_most=most)})
        for most in (10e-3, None)
    )
    assert judge_finding(at, release(11.2e-3)).outcome is Outcome.PASS
    assert judge_finding(at, release(15.1e-3)).outcome is Outcome.FAIL
    assert judge_finding(at, release(11.2e-3, diode=False)).outcome is Outcome.FAIL
    assert judge_finding(rated, release(11.2e-3)).outcome is Outcome.FAIL
    assert judge_finding(unrated, release(11.2e-3)).outcome is Outcome.PASS, "its sheet gives no release"
    more = at.model_copy(update={"limits": {"release_time": Limit(text="", source=SOURCE, unit="s", high=20e-3)}})
    assert judge_finding(more, release(18e-3)).outcome is Outcome.PASS


def test_units_that_differ_are_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="limit in"):
        decide(volts(6.0), Limit(text="x", source=SOURCE, unit="s", high=1.0))


PLAN = Plan.model_construct(
    protocol="invented",
    version=1,
    title="invented",
    form="A",
    rating=Rating.model_construct(nominal=12.0),
    steps=(CoilStep(measure="coil"),),
    wanted=("coil_resistance", "pull_in_voltage", "contact_drop_no"),
    limits={},
    text="",
    sha256="",
)


def judged(id: str, outcome: Outcome, without_load: bool = False) -> Judged:
    finding: Reading | NotTested = Reading(id=id, unit="V", value=1.0)
    if outcome is Outcome.NOT_TESTED:
        finding = NotTested(id=id, reason="no load supply", because="no load supply" if without_load else "part")
    return Judged(id=id, outcome=outcome, reason="invented", finding=finding)


def overall(*outcomes: Outcome, ended: str = "complete", without_load: bool = False) -> Overall:
    listed = [judged(id, o, without_load) for id, o in zip(PLAN.wanted, outcomes, strict=False)]
    return verdict(PLAN, listed, ended).overall  # type: ignore[arg-type]  # parametrised word


P, F, U, N = Outcome.PASS, Outcome.FAIL, Outcome.UNSURE, Outcome.NOT_TESTED


def test_only_a_complete_run_with_every_limit_met_is_a_pass() -> None:
    assert overall(P, P, P) is Overall.PASS
    assert overall(P, P) is Overall.INCOMPLETE
    assert overall(P, P, N) is Overall.INCOMPLETE
    unseen = NotTested(id="pull_in_voltage", reason="no dip seen", because="not shown")
    assert (
        verdict(PLAN, [judged(PLAN.wanted[0], P), decide(unseen, None), judged(PLAN.wanted[2], P)], "complete").overall
        is Overall.PASS
    )
    assert overall(P, P, U) is Overall.UNSURE


def test_one_failed_limit_fails_the_part_even_when_the_rest_is_missing() -> None:
    assert overall(P, F, N) is Overall.FAIL


def test_without_the_load_supply_the_word_is_checked_without_load() -> None:
    assert overall(P, P, N, without_load=True) is Overall.WITHOUT_LOAD
    assert overall(P, U, N, without_load=True) is Overall.INCOMPLETE
    assert overall(P, F, N, without_load=True) is Overall.FAIL


BARE = PLAN.model_copy(update={"wanted": ("contact_rest", "coil_resistance", "contact_dry_nc", "leakage_open_contact")})


def test_a_run_that_loaded_no_contact_is_checked_without_load_however_good_it_was() -> None:
    listed = [judged(id, Outcome.PASS) for id in BARE.wanted]
    word = verdict(BARE, listed, "complete")
    assert word.overall is Overall.WITHOUT_LOAD
    assert "not loaded" in word.means


@given(st.lists(st.sampled_from(list(Outcome)), min_size=4, max_size=4), st.booleans())
def test_a_plan_without_loaded_contacts_can_never_be_a_pass(outcomes: list[Outcome], without_load: bool) -> None:
    listed = [judged(id, o, without_load) for id, o in zip(BARE.wanted, outcomes, strict=True)]
    assert verdict(BARE, listed, "complete").overall is not Overall.PASS


def test_a_contact_that_was_to_be_loaded_and_was_not_does_not_make_a_pass_of_it() -> None:
    listed = [judged(id, P) for id in BARE.wanted] + [judged("contact_drop_no", N)]
    assert verdict(BARE, listed, "complete").overall is Overall.WITHOUT_LOAD


def test_a_leaking_contact_fails_a_part_that_was_never_loaded() -> None:
    listed = [judged(id, F if id == "leakage_open_contact" else P) for id in BARE.wanted]
    assert verdict(BARE, listed, "complete").overall is Overall.FAIL


def test_a_run_in_which_no_limit_was_met_is_not_a_pass() -> None:
    assert overall(Outcome.NOTED, Outcome.NOTED, Outcome.NOTED) is Overall.INCOMPLETE


@given(st.lists(st.sampled_from(list(Outcome)), max_size=3), st.sampled_from(["interrupted", "bench trouble"]))
def test_an_interrupted_run_or_bench_trouble_is_never_a_verdict_on_the_part(
    outcomes: list[Outcome], ended: str
) -> None:
    assert overall(*outcomes, ended=ended) in (Overall.INTERRUPTED, Overall.BENCH_TROUBLE)
