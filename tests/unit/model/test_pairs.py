"""Pairs of terminals and tables of closed pairs: compared by pairs, kept as a code, shown in words."""

import pytest
from pydantic import ValidationError

from pulldrop.model.part.pair import ContactState, Pair, PairTable
from pulldrop.model.part.relay import FORMS, NC, NO, TWIN, Form


@pytest.mark.parametrize("form", FORMS)
def test_a_form_in_one_state_is_not_taken_for_the_same_form_in_the_other(form: Form) -> None:
    rest, operated = FORMS[form].at("rest"), FORMS[form].at("operated")
    assert rest.meets(rest) and operated.meets(operated)
    assert not rest.meets(operated) and not operated.meets(rest)


def test_a_pair_that_should_be_open_and_was_not_looked_at_is_not_taken_for_open() -> None:
    assert not ContactState.of([NC], [NC]).meets(FORMS["C"].at("rest"))


def test_a_closed_pair_that_the_form_does_not_have_counts_against_it() -> None:
    seen = ContactState.of([NO, NC], [NC])
    assert not seen.meets(FORMS["A"].at("rest")) and seen.meets(FORMS["C"].at("rest"))


def test_what_operates_and_releases_a_form() -> None:
    told = {form: (str(one.operates), str(one.releases)) for form, one in FORMS.items()}
    assert told == {
        "A": ("30-87 closing", "30-87 opening"),
        "B": ("30-87a opening", "30-87a closing"),
        "C": ("30-87 closing", "30-87a closing"),
        "twin": ("30-87 closing", "30-87 opening"),
    }


def test_terminals_of_the_forms() -> None:
    assert FORMS["B"].terminals == ("30", "85", "86", "87a")
    assert FORMS["twin"].terminals == ("30", "85", "86", "87", "87b")
    assert str(FORMS["C"]) == "5 terminals, changeover (Form C)"


@pytest.mark.parametrize("state", [ContactState.of([NO, NC, TWIN], [NC]), ContactState.of([NO], []), ContactState()])
def test_a_state_survives_its_code_and_json(state: ContactState) -> None:
    assert ContactState.parse(state.code) == state
    assert ContactState.model_validate_json(state.model_dump_json()) == state


def test_code_and_words_of_a_state() -> None:
    state = FORMS["C"].at("rest")
    assert (state.code, str(state)) == ("30-87=0 30-87a=1", "30-87 open, 30-87a closed")


@pytest.mark.parametrize("written", ["30", "30-", "30-30", "30-87-87a", "", "30–87"])
def test_what_is_no_pair_is_refused_in_a_sentence(written: str) -> None:
    with pytest.raises(ValueError, match="expected two"):
        Pair.parse(written)


def test_a_code_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="no code"):
        ContactState.parse("30-87=2")


def test_no_pair_is_open_and_closed_at_once() -> None:
    with pytest.raises(ValidationError, match="both open and closed"):
        ContactState(closed=(NO,), open=(NO,))


def test_a_switch_is_a_table_by_position() -> None:
    park = Pair.parse("30-58")
    table = PairTable({"off": (), "park": (park,)})
    assert str(table.at("park")) == "30-58 closed" and str(table.at("off")) == "30-58 open"
