"""Statements about what a quick screen leaves to the full protocol."""

import records

from pulldrop.judge import decide
from pulldrop.judge.crate.quick import doubted, doubtful
from pulldrop.model.reading import Term
from pulldrop.model.verdict import Judged, Outcome
from pulldrop.protocol.crate import sorting

CRATE = sorting("crate-relay", "class-mini-12v-form-c")


def drop(volts: float, u: float) -> Judged:
    """A contact drop, judged as the full protocol would."""
    id = "contact_drop_no"
    return decide(records.reading(id, volts, u), CRATE.screen.limits[id])


def outcomes(one: Judged) -> tuple[Outcome, Outcome]:
    """By the full protocol's measure, and by a screen's."""
    return one.outcome, doubted([one])[0].outcome


def test_far_from_its_limit_a_screen_says_what_the_full_protocol_says() -> None:
    assert outcomes(drop(0.05, 0.004)) == (Outcome.PASS, Outcome.PASS)
    assert outcomes(drop(0.30, 0.004)) == (Outcome.FAIL, Outcome.FAIL)


def test_within_two_percent_of_its_limit_a_screen_says_nothing_however_sure_it_is() -> None:
    assert outcomes(drop(0.197, 0.0001)) == (Outcome.PASS, Outcome.UNSURE)
    assert outcomes(drop(0.203, 0.0001)) == (Outcome.FAIL, Outcome.UNSURE)


def test_a_screen_has_to_be_five_times_as_sure() -> None:
    scattered = 0.01  # 2.6 times that beyond the limit: wrong once in a hundred, with so few makes
    assert outcomes(drop(0.226, scattered)) == (Outcome.FAIL, Outcome.UNSURE)
    assert outcomes(drop(0.174, scattered)) == (Outcome.PASS, Outcome.UNSURE)
    assert outcomes(drop(0.250, scattered)) == (Outcome.FAIL, Outcome.FAIL)


def test_a_drop_out_one_step_of_the_screen_below_its_limit_is_left_to_the_full_protocol() -> None:
    id = "drop_out_voltage"
    low = decide(records.reading(id, 1.03, 0.05), CRATE.screen.limits[id])
    assert outcomes(low) == (Outcome.FAIL, Outcome.UNSURE)
    assert outcomes(decide(records.reading(id, 0.8, 0.05), CRATE.screen.limits[id])) == (Outcome.FAIL, Outcome.FAIL)


def test_a_coil_far_from_every_limit_is_certain_whatever_its_budget_is_made_of() -> None:
    flat, bell = (
        Term(name="warmth", u=0.3, why="invented", shape="rectangular"),
        Term(name="gain", u=0.5, why="invented"),
    )
    far = records.reading("coil_resistance_20c", 376.0).model_copy(update={"budget": (flat, bell)})
    within = next(rule.within["coil_resistance_20c"] for rule in CRATE.rules if "coil_resistance_20c" in rule.within)
    assert not doubtful(far, within)
