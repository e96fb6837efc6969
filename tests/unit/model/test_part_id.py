"""Ids of parts: what a pen, a tired eye and a scanner do to them."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.model.part.part_id import ALPHABET, as_known, check_character, drawn, meant, well_formed


def some(count: int, given: int = 0) -> list[str]:
    chance = random.Random(4)
    return [drawn(chance, given) for _ in range(count)]


KNOWN = some(600)


def test_new_ids_have_five_characters_the_check_among_them() -> None:
    assert all(map(well_formed, KNOWN)) and {len(id) for id in KNOWN} == {5}


def test_a_new_part_gets_the_id_of_another_benchs_part_less_than_once_in_a_thousand() -> None:
    for many in (1, 279, 280, 6000, 7000, 1_000_000):
        (id,) = some(1, many)
        assert many / len(ALPHABET) ** (len(id) - 1) <= 1 / 1000
    assert [len(some(1, many)[0]) for many in (279, 280, 6436, 6437)] == [5, 6, 6, 7]


def test_two_benches_draw_different_ids() -> None:
    one, other = ({drawn(random.Random(seed), 0) for _ in range(100)} for seed in (1, 2))
    assert not one & other


def test_no_id_is_a_plain_number_as_a_place_in_a_crate_is() -> None:
    assert not any(id.isdecimal() for id in some(20_000))


def test_ids_of_three_characters_from_before_are_valid_still() -> None:
    assert all(map(well_formed, ("23Y", "24W", "26P")))


bodies = st.text(st.sampled_from(ALPHABET), min_size=2, max_size=6)


@given(bodies, st.data())
def test_every_single_wrong_character_is_noticed(body: str, data: st.DataObject) -> None:
    id = body + check_character(body)
    place = data.draw(st.integers(0, len(id) - 1))
    wrong = data.draw(st.sampled_from([c for c in ALPHABET if c != id[place]]))
    assert not well_formed(id[:place] + wrong + id[place + 1 :])


@given(bodies, st.data())
def test_two_exchanged_characters_are_noticed_wherever_they_stand(body: str, data: st.DataObject) -> None:
    id = list(body + check_character(body))
    one, other = data.draw(st.tuples(st.integers(0, len(id) - 1), st.integers(0, len(id) - 1)))
    different = id[one] != id[other]
    id[one], id[other] = id[other], id[one]
    assert well_formed("".join(id)) is not different


@pytest.mark.parametrize(
    "written", ["4K6", "4k6", " 4K6\n", "4 K 6", "4kg", "depot/4K6", "part:4K6", "https://bench/part/4k6"]
)
def test_a_part_is_known_in_small_letters_with_look_alikes_and_from_a_label(written: str) -> None:
    assert as_known(written, {"4K6", "P0001"}) == "4K6"


def test_an_id_of_before_is_known_as_it_was_written() -> None:
    assert as_known("P0001", {"P0001"}) == as_known("p0001", {"P0001"}) == "P0001"
    assert as_known("Pump-relay", {"Pump-relay"}) == "Pump-relay"
    assert as_known("PO001", {"P0001"}) is None
    assert meant("PO001", {"P0001", "23Y"}) == ("P0001",)


@pytest.mark.parametrize(
    ("slip", "wanted"), [("9K7", "4K7"), ("4H7", "4K7"), ("K47", "4K7"), ("4K", "4K7"), ("4KK7", "4K7")]
)
def test_a_slip_is_answered_with_what_was_probably_meant(slip: str, wanted: str) -> None:
    assert as_known(slip, {"4K7", "PPP", "2C8"}) is None
    assert meant(slip, {"4K7", "PPP", "2C8"}) == (wanted,)


def test_the_likeliest_slip_is_told_first() -> None:
    assert meant("9K7", ["2K7", "3K7", "4K7", "5K7"])[0] == "4K7", "a hurried 4 is read as 9"


def test_nothing_is_meant_where_nothing_is_near() -> None:
    assert meant("horn", KNOWN) == ()
