"""What a proof asks for, and that it is not had for less."""

import numpy as np
import pytest

from pulldrop.hunt.language import Language, Literal
from pulldrop.hunt.proof import LeadingRule, program, without_implied
from pulldrop.hunt.record import Record
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.control import CabinControl, Precautions, Reach, key, latching, momentary, rotary
from pulldrop.model.hunt.look import WireLevel

A, B, NOT_B = Literal(1, (1,)), Literal(2, (1,)), Literal(2, (0,))


def language_of(*controls: CabinControl) -> Language:
    return Language(Space(controls, Precautions()))


def switches(*more: CabinControl) -> Language:
    return language_of(key(), latching("a"), latching("b"), *more)


def path(language: Language, *conditions: Literal) -> int:
    found = language.find(conditions)
    assert found is not None
    return found


def settings(language: Language, *paths: int) -> dict[tuple[int, ...], bool]:
    proving = program(language, LeadingRule(tuple(paths)))
    return {
        tuple(int(p) for p in setting): live
        for item in proving.items
        for setting, live in zip(item.walk, item.live, strict=True)
    }


def test_each_part_is_shown_off_and_on_at_every_other_position() -> None:
    language = switches(rotary("blind", "0123"))
    wanted = settings(language, path(language, A, Literal(3, (1, 2))))
    assert wanted == {
        (0, 1, 0, 1): True,
        (0, 0, 0, 1): False,
        (0, 1, 0, 0): False,
        (0, 1, 0, 2): True,
        (0, 1, 0, 3): False,
    }


def test_each_of_two_paths_is_shown_where_the_other_is_dead() -> None:
    language = switches()
    first, other = path(language, Literal(0, (2,)), A), path(language, NOT_B, Literal(0, (1,)))
    for setting, live in settings(language, first, other).items():
        held = language.holds(np.array([first, other]), np.array([setting], np.int8))[0]
        assert held.sum() == live


def test_a_path_that_is_never_alone_is_untestable() -> None:
    language = switches()
    always, single = path(language), path(language, A)
    proving = program(language, LeadingRule((single, always)))
    assert (1,) in proving.untestable


def test_buttons_outside_of_the_rule_are_pressed_while_it_is_live() -> None:
    language = switches(momentary("bell"), momentary("door push", reach=Reach.OUTSIDE))
    wanted = settings(language, path(language, A))
    assert wanted[(0, 1, 0, 1, 0)] and wanted[(0, 1, 0, 0, 1)]


def test_an_implied_path_is_none_of_its_own() -> None:
    language = switches()
    single, both = path(language, A), path(language, A, B)
    assert without_implied(language, [both, single, language.never]) == (single,)
    assert set(without_implied(language, [single, path(language, B)])) == {single, path(language, B)}


class Shown:
    """Goes through items of a proof as the rule predicts."""

    def __init__(self, language: Language, rule: LeadingRule) -> None:
        self.record, self.language, self.rule = Record(language.space), language, rule
        self.proving = program(language, rule)
        self.record.first(WireLevel.OPEN, False)

    def walk(self, item_number: int) -> None:
        space = self.language.space
        moves = space.route(self.record.state, self.proving.items[item_number].walk)
        walk = space.through(self.record.state, moves)
        held = self.language.holds(np.array(self.rule.paths), walk).any(1)
        self.record.add(moves, [(WireLevel.ON if one else WireLevel.OPEN, bool(one)) for one in held])

    def all(self) -> None:
        for i in range(len(self.proving.items)):
            self.walk(i)

    @property
    def proved(self) -> bool:
        return self.proving.missing(self.record) is None and self.proving.missing_again(self.record) is None


def test_a_proof_is_seen_twice_with_the_positions_read_between() -> None:
    language = switches()
    shown = Shown(language, LeadingRule((path(language, A, B),)))
    shown.all()
    shown.all()
    assert not shown.proved, "nobody read the positions"
    shown.record.read(shown.record.state.tolist())
    assert not shown.proved
    shown.all()
    assert shown.proved


@pytest.mark.parametrize("left_out", [0, 1])
def test_no_part_is_left_out_of_the_second_pass(left_out: int) -> None:
    language = switches()
    shown = Shown(language, LeadingRule((path(language, A, B),)))
    shown.all()
    shown.record.read(shown.record.state.tolist())
    for i in range(len(shown.proving.items)):
        if i != left_out:
            shown.walk(i)
    assert not shown.proved
    shown.walk(left_out)
    assert shown.proved


def test_two_looks_of_one_step_are_one_showing() -> None:
    language = switches()
    shown = Shown(language, LeadingRule((path(language, A),)))
    shown.record.read([0, 0, 0])
    shown.all()
    assert not shown.proved
    shown.all()
    assert shown.proved


def test_a_memory_is_proved_by_its_sequence() -> None:
    language = switches(momentary("push"))
    rule = LeadingRule((path(language, A),), 3, 1, True)
    first, *rest = program(language, rule).items
    assert first.live == (False, True, True, False, False, True, True)
    assert first.other == first.live or first.other[1] is False
    (supply,) = rest
    assert [bool(one) for one in supply.live] == [False, True, True, False, False, True, True, False, False]
    keeps = program(language, LeadingRule((path(language, A),), 3, 1, False)).items[1]
    assert keeps.live[4] is True, "it comes back without a press"
