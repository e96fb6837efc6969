"""The rules that a hunt can think of."""

from itertools import combinations

import numpy as np
import pytest

from pulldrop.hunt import language as room
from pulldrop.hunt.language import Language, Literal, Memories
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.control import CabinControl, Precautions, Reach, key, latching, momentary, rotary, stalk


def language_of(*controls: CabinControl, added: bool | None = None) -> Language:
    return Language(Space(controls, Precautions()), added)


def test_every_conjunction_of_plain_switches_is_there_once() -> None:
    language = language_of(*(latching(f"switch {i}") for i in range(5)))
    listed = [frozenset(row[row >= 0].tolist()) for row in language.members[:-1]]
    assert len(set(listed)) == len(listed)
    needed = [frozenset(one) for order in range(5) for one in combinations(range(5), order)]
    inhibited = [
        one | {5 + other} for one in needed for other in range(5) if other not in one and len(one) < room.ORDERS
    ]
    assert set(listed) == {*needed, *inhibited}


@pytest.mark.parametrize(
    ("control", "masks"),
    [
        (latching("lights"), {(1,)}),
        (rotary("blind", "0123"), {(1,), (2,), (3,), (1, 2), (2, 3), (1, 2, 3)}),
        (stalk("indicators", ("left", "right")), {(1,), (2,), (1, 2)}),
        (key(), {(1,), (2,), (1, 2)}),
    ],
    ids=["latching", "rotary", "stalk", "key without START"],
)
def test_conditions_are_neighbouring_positions(control: CabinControl, masks: set[tuple[int, ...]]) -> None:
    language = language_of(control)
    assert {one.positions for one in language.literals if not one.inhibits} == masks


def test_a_conjunction_holds_where_each_of_its_conditions_does() -> None:
    language = language_of(key(), latching("lights"), momentary("push"), rotary("blind", "012"))
    settings = np.array([[k, a, b, c] for k in range(3) for a in (0, 1) for b in (0, 1) for c in range(3)], np.int8)
    held = language.holds(slice(None), settings)
    for conjunction in range(0, len(language.members) - 1, 7):
        wanted = [all(s[one.control] in one.positions for one in language.conditions(conjunction)) for s in settings]
        assert held[:, conjunction].tolist() == wanted
    assert not held[:, language.never].any()


def test_what_no_person_could_see_is_left_out_and_counted() -> None:
    seat, outside = momentary("push"), momentary("door push", reach=Reach.OUTSIDE)
    language = language_of(seat, outside, latching("lights"))
    both = [Literal(0, (1,)), Literal(1, (1,))]
    assert language.find(both) is None and language.find(both[:1]) is not None
    assert language.unseen == 2 + 1  # the pair alone, without the lights and with them
    three = language_of(*(momentary(f"push {i}") for i in range(3)))
    assert three.find([Literal(i, (1,)) for i in range(3)]) is None


def test_odds_sum_to_one_short_rules_and_the_key_are_likelier() -> None:
    language = language_of(key(), *(latching(f"switch {i}") for i in range(5)))
    odds = np.exp(language.log_prior)
    assert odds.sum() == pytest.approx(1)
    single = language.find([Literal(1, (1,))])
    keyed = language.find([Literal(0, (2,))])
    pair = language.find([Literal(1, (1,)), Literal(2, (1,))])
    assert odds[keyed] == pytest.approx(room.KEYED * odds[single])
    assert odds[single] > odds[pair]


def test_added_wiring_makes_a_single_switch_likelier() -> None:
    controls = (key(), *(latching(f"switch {i}") for i in range(5)))
    single = [Literal(1, (1,))]
    plain, added = language_of(*controls), language_of(*controls, added=True)
    assert added.log_prior[added.find(single)] > plain.log_prior[plain.find(single)] + 0.3


def test_a_cabin_with_too_many_rules_leaves_the_highest_order_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "MOST", 200)
    language = language_of(*(latching(f"switch {i}") for i in range(9)))
    assert language.orders == 2 and int(language.order.max()) == 2


def test_a_memory_has_a_button_that_its_path_does_not_name() -> None:
    language = language_of(key(), latching("lights"), momentary("push"))
    memories = Memories.of(language)
    assert len(memories) and np.exp(memories.log_prior).sum() == pytest.approx(1)
    for rest, button in zip(memories.rest, memories.button, strict=True):
        assert button == 2 and all(one.control != 2 for one in language.conditions(int(rest)))
    assert len(Memories.of(language_of(latching("lights")))) == 0
