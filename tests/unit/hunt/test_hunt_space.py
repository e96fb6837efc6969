"""What one person can set, and the moves that lead there."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.hunt.space import GROUP_A, Setting, Space
from pulldrop.model.hunt.control import (
    CabinControl,
    Harm,
    Precautions,
    Reach,
    key,
    latching,
    momentary,
    pull,
    rotary,
    stalk,
)

CABIN = [
    key(),
    latching("saloon lights", amps=12.0),
    momentary("bell push"),
    momentary("horn"),
    momentary("emergency door push", reach=Reach.OUTSIDE),
    rotary("blind", "0123", reach=Reach.OUTSIDE),
    stalk("indicators", ("left", "right"), ("flash",)),
    pull("side lights", 2),
]


def setting(space: Space, **positions: int) -> Setting:
    made = space.at_rest.copy()
    for name, position in positions.items():
        made[space.index(name.replace("_", " "))] = position
    return made


def space_of(*controls: CabinControl, solenoid_off: bool = False) -> Space:
    return Space(controls or CABIN, Precautions(solenoid_off=solenoid_off))


def possible(space: Space, one: Setting) -> bool:
    return bool(space.possible(one[None])[0])


def test_two_hands_hold_two_buttons_and_no_third() -> None:
    space = space_of(*(momentary(f"push {i}") for i in range(3)))
    assert possible(space, np.array([1, 1, 0], np.int8))
    assert not possible(space, np.array([1, 1, 1], np.int8))


def test_nobody_holds_a_button_in_the_seat_and_one_outside() -> None:
    space = space_of()
    assert not possible(space, setting(space, bell_push=1, emergency_door_push=1))
    assert possible(space, setting(space, bell_push=1, blind=2))
    assert (space.index("bell push"), space.index("emergency door push")) in space.beyond_hands()


def test_start_is_possible_only_with_the_solenoid_wire_off() -> None:
    assert not possible(space_of(), setting(space_of(), key=3))
    free = space_of(solenoid_off=True)
    assert possible(free, setting(free, key=3))


@pytest.mark.parametrize("harm", Harm)
def test_what_does_harm_stays_at_rest(harm: Harm) -> None:
    space = space_of(latching("ramp", harm=harm), latching("lights"))
    assert not possible(space, setting(space, ramp=1))
    assert space.free == [1]


def test_a_group_switches_less_than_25_amps() -> None:
    space = space_of(latching("heater fan lights", amps=13.0), latching("saloon lights", amps=12.0))
    assert not possible(space, np.array([1, 1], np.int8)) and GROUP_A == 25
    assert possible(space, np.array([1, 0], np.int8))


def test_letting_the_key_go_leaves_it_on() -> None:
    space = space_of(solenoid_off=True)
    moves = space.route(space.at_rest, [setting(space, key=3)])
    assert moves == [(0, 3), (0, 2)]


def test_both_hands_let_go_before_a_switch_is_turned() -> None:
    space = space_of()
    held = setting(space, bell_push=1, horn=1)
    with_lights = setting(space, bell_push=1, horn=1, saloon_lights=1)
    moves = [(space.controls[i].id, p) for i, p in space.route(space.at_rest, [held, with_lights])]
    at = moves.index(("saloon lights", 1))
    assert moves[at - 2 : at] == [("bell push", 0), ("horn", 0)]
    assert moves[at + 1 : at + 3] == [("bell push", 1), ("horn", 1)]


def test_two_controls_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="name of its own"):
        space_of(latching("lights"), latching("lights"))


def test_a_position_that_is_not_there_is_refused() -> None:
    space = space_of()
    with pytest.raises(ValueError, match="no position 7"):
        space.numbered([space.named([(0, 2)])[0].model_copy(update={"position": 7})])


settings = st.tuples(*(st.sampled_from(range(len(one.positions))) for one in CABIN))


@given(settings, st.lists(settings, min_size=1, max_size=3), st.booleans())
def test_a_route_goes_through_its_targets_and_never_needs_a_third_hand(
    start: tuple[int, ...], goals: list[tuple[int, ...]], solenoid_off: bool
) -> None:
    space = space_of(solenoid_off=solenoid_off)
    state = space.let_go(np.array(start, np.int8))
    targets = [one for one in (np.array(goal, np.int8) for goal in goals) if possible(space, one)]
    if not possible(space, state):
        return
    moves = space.route(state, targets)
    now, passed = state.copy(), 0
    for control, position in [(-1, 0), *moves]:
        if control >= 0:
            holding = {i for i in range(space.n) if space.holds(i, int(now[i]))}
            assert not any(space.outside[i] != space.outside[control] for i in holding - {control})
            assert len(holding - {control}) < 2 or not space.holds(control, position)
            assert len(holding | {control}) <= 2, "a hand for each"
            if space.holds(control, int(now[control])):
                assert position == space.controls[control].springs[int(now[control])]
            now[control] = position
        while passed < len(targets) and (now == targets[passed]).all():
            passed += 1
    assert passed == len(targets)
    assert (space.let_go(now) == now).all()


@given(settings, settings)
def test_bits_meet_what_blocks_them_only_outside_of_the_positions(one: tuple[int, ...], other: tuple[int, ...]) -> None:
    space = space_of(*CABIN, *(rotary(f"more {i}", "01234567") for i in range(6)))
    assert space.words > 1
    full = np.zeros(space.n, np.int8)
    full[: len(one)] = one
    full[len(one) :] = other[:6]
    bits = space.bits(full[None])[0]
    for i in (0, 5, 9, 13):
        wanted = {0, 2}
        assert bool((bits & space.blocked(i, wanted)).any()) == (int(full[i]) not in wanted)
