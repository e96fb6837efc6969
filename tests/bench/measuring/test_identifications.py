"""A small campaign of the look in the normal suite: nothing wrong of any part, and every kind is drawn."""

import identify
import pytest

PARTS, SEED = 60, 12


@pytest.fixture(scope="module")
def results() -> list[identify.Result]:
    return identify.campaign(SEED, PARTS, workers=1)


def test_nothing_wrong_is_said_of_any_part(results: list[identify.Result]) -> None:
    assert [one for one in results if "wrong" in one.marks.values()] == []


def test_no_harmful_part_might_be_energised(results: list[identify.Result]) -> None:
    assert any(one.truth.harmful and not one.bare for one in results)
    assert not any(one.harmed or one.burnt for one in results)


def test_the_parts_are_of_every_identified(results: list[identify.Result]) -> None:
    truths = [one.truth for one in results]
    assert {t.form for t in truths} == {"A", "B", "C", "twin"}
    assert {t.layout for t in truths} == {"usual", "exchanged"}
    assert {t.kind for t in truths} == {"none", "resistor", "diode", "zener", "series diode"}
    assert {t.winding for t in truths} == {"whole", "open", "open behind its resistor", "shorted"}


def test_a_statement_that_is_wrong_is_counted(results: list[identify.Result]) -> None:
    one = next(r for r in results if r.marks.get("class") == "right")
    other = one.identified.model_copy(update={"volts": 36.0 - one.truth.volts})
    assert identify.marks(one.truth, other, one.bare)["class"] == "wrong"
    wrong = [identify.Result(one.bare, one.truth, other, {"class": "wrong"})]
    assert "missed" in [goal.state for goal in identify.goals(wrong * 20)]
