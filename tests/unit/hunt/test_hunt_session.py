"""Whole hunts with a person who does what is asked: what is found, what is claimed, what is never asked."""

from collections.abc import Callable

import pytest
from wired import Driven, Wire

from pulldrop.hunt.session import POINTS_S, Hunt
from pulldrop.model.hunt.ask import AnyAsk, AskReason, Move, PauseStep, ReadBackStep, SetStep
from pulldrop.model.hunt.control import (
    CabinControl,
    Harm,
    Precautions,
    Reach,
    key,
    latching,
    momentary,
    rotary,
)
from pulldrop.model.hunt.diary import Diary
from pulldrop.model.hunt.look import Side, WireLevel, WireLook
from pulldrop.model.hunt.outcome import Grade, Suspect
from pulldrop.model.hunt.rule import Condition

CABIN = (
    key(),
    latching("saloon lights"),
    latching("side lights"),
    momentary("bell push"),
    momentary("horn"),
    rotary("blind", "012"),
)


def driven(wire: Wire, controls: tuple[CabinControl, ...] = CABIN, **more: object) -> Driven:
    return Driven(Hunt(controls, **more), wire).run()  # type: ignore[arg-type]


def conditions(run: Driven) -> list[set[tuple[str, tuple[int, ...]]]]:
    rule = run.hunt.result().rule
    return [] if rule is None else [{(one.control, one.positions) for one in path.conditions} for path in rule.paths]


ON = ("key", (2,))
RULES: list[tuple[Wire, list[set[tuple[str, tuple[int, ...]]]]]] = [
    (lambda p: p[1] == 1, [{("saloon lights", (1,))}]),
    (lambda p: p[0] == 2 and p[5] >= 1, [{ON, ("blind", (1, 2))}]),
    (lambda p: p[0] == 2 and p[3] and not p[2], [{ON, ("bell push", (1,)), ("side lights", (0,))}]),
    (lambda p: p[3] and p[4], [{("bell push", (1,)), ("horn", (1,))}]),
    (lambda p: p[1] or (p[0] == 2 and p[4]), [{("saloon lights", (1,))}, {ON, ("horn", (1,))}]),
]  # fmt: skip


@pytest.mark.parametrize(("wire", "wanted"), RULES, ids=["single", "rotary", "inhibited", "both hands", "two ways"])
def test_a_rule_is_found_and_proved(wire: Wire, wanted: list[set[tuple[str, tuple[int, ...]]]]) -> None:
    run = driven(wire)
    outcome = run.hunt.result()
    assert outcome.grade is Grade.PROVED and outcome.left <= 0.05
    assert sorted(map(sorted, conditions(run))) == sorted(map(sorted, wanted))


def test_nothing_is_found_where_nothing_drives_the_wire() -> None:
    run = driven(lambda p: False)
    outcome = run.hunt.result()
    assert outcome.grade is Grade.NOT_FOUND and outcome.rule is None
    single = outcome.excluded[0]
    assert single.order == 1 and single.excluded >= 0.9 * single.rules and single.left < 0.01
    assert isinstance(run.asked[-1], ReadBackStep), "positions were read before it was given up"
    assert {Suspect.BROKEN_WIRE, Suspect.NO_FEED, Suspect.MODULE} < set(outcome.suspects)


class TurnsOver:
    """A memory relay on the push that forgets when the lights' switch is off."""

    def __init__(self, resets: bool) -> None:
        self.state, self.pressed, self.resets = False, False, resets

    def __call__(self, positions: list[int]) -> bool:
        fed = positions[1] == 1
        if fed and positions[3] and not self.pressed:
            self.state = not self.state
        self.pressed = bool(positions[3])
        if self.resets and not fed:
            self.state = False
        return fed and self.state


@pytest.mark.parametrize("resets", [True, False])
def test_a_memory_is_found_with_what_resets_it(resets: bool) -> None:
    outcome = driven(TurnsOver(resets)).hunt.result()
    assert outcome.rule is not None and outcome.rule.memory is not None
    assert (outcome.rule.memory.button, outcome.rule.memory.resets) == ("bell push", resets)
    assert outcome.grade is Grade.PROVED
    assert outcome.drawing is not None and outcome.drawing.button == "bell push"


def test_three_ways_are_called_outside_of_the_language() -> None:
    outcome = driven(lambda p: p[1] or p[2] or p[5] == 2).hunt.result()
    assert outcome.grade is Grade.OUTSIDE


def test_a_low_side_wire_acts_by_ground() -> None:
    run = driven(lambda p: WireLevel.GROUND if p[1] else WireLevel.OPEN, side=Side.LOW)
    outcome = run.hunt.result()
    assert outcome.grade is Grade.PROVED and outcome.rule is not None
    assert outcome.rule.side is Side.LOW and outcome.rule.paths[0].level is WireLevel.GROUND


def test_a_trickle_is_not_the_trigger_and_is_named() -> None:
    def wire(p: list[int]) -> WireLevel:
        return WireLevel.PULSED if p[0] == 2 and p[1] else WireLevel.WEAK if p[2] else WireLevel.OPEN

    run = driven(wire)
    outcome = run.hunt.result()
    assert conditions(run) == [{ON, ("saloon lights", (1,))}]
    assert outcome.rule is not None and outcome.rule.paths[0].level is WireLevel.PULSED
    assert outcome.weak is not None and outcome.weak.conditions == (Condition(control="side lights", positions=(1,)),)


def test_two_held_controls_in_two_places_are_not_testable_by_one_person() -> None:
    controls = (key(), momentary("bell push"), momentary("door push", reach=Reach.OUTSIDE))
    outcome = driven(lambda p: bool(p[1] and p[2]), controls).hunt.result()
    assert outcome.grade is Grade.NOT_FOUND
    assert ("bell push", "door push") in outcome.untestable


def test_edges_that_were_not_allowed_are_twins_or_untried() -> None:
    outcome = driven(lambda p: p[0] >= 2).hunt.result()
    assert Condition(control="key", positions=(3,)) in outcome.untried


def test_a_slip_that_stays_is_found_by_reading_back() -> None:
    slipped: list[AnyAsk] = []

    def before(run: Driven, ask: AnyAsk) -> None:
        if isinstance(ask, SetStep) and ask.reason is AskReason.PROVE and not slipped:
            run.positions[2] = 1
            slipped.append(ask)

    run = Driven(Hunt(CABIN), lambda p: p[0] == 2 and p[1] and not p[2], before).run()
    assert slipped and any(isinstance(ask, ReadBackStep) for ask in run.asked)
    assert run.hunt.result().grade is Grade.PROVED
    assert conditions(run) == [{ON, ("saloon lights", (1,)), ("side lights", (0,))}]


def test_what_does_harm_is_never_asked_for() -> None:
    controls = (*CABIN, latching("ramp", harm=Harm.MOVES), momentary("heater", harm=Harm.HEATS))
    for wire, _ in RULES:
        for ask in driven(wire, controls).asked:
            assert not isinstance(ask, SetStep) or not {"ramp", "heater"} & {move.control for move in ask.moves}


@pytest.mark.parametrize("solenoid_off", [True, False])
def test_start_is_asked_for_only_with_the_solenoid_wire_off(solenoid_off: bool) -> None:
    run = driven(lambda p: p[0] == 3, precautions=Precautions(solenoid_off=solenoid_off))
    asked = [move for ask in run.asked if isinstance(ask, SetStep) for move in ask.moves]
    assert any(move == Move(control="key", position=3) for move in asked) is solenoid_off
    assert (run.hunt.result().grade is Grade.PROVED) is solenoid_off


def test_with_points_the_key_is_never_on_for_two_minutes() -> None:
    run = Driven(Hunt(CABIN, Precautions(points_ignition=True)), lambda p: p[0] == 2 and p[1] and not p[5])
    on_s, paused = 0.0, 0
    for _ in range(200):
        ask = run.hunt.next_step()
        if ask is None:
            break
        if isinstance(ask, PauseStep):
            on_s, paused = 0.0, paused + 1
            assert ask.seconds >= POINTS_S
        elif isinstance(ask, SetStep):
            moves = run.hunt.space.numbered(ask.moves)
            if run.positions[0] == 2 or any(move == (0, 2) for move in moves):
                on_s += run.hunt.space.seconds(moves, ask.wait_s, False)
            assert on_s <= POINTS_S
        run.answer(ask)
    assert run.hunt.result().grade is Grade.PROVED and paused


CABINS: dict[str, tuple[CabinControl, ...]] = {
    "one switch": (latching("lights"),),
    "nothing that may be asked for": (latching("ramp", harm=Harm.MOVES), momentary("wiper", harm=Harm.MOVES)),
    "buttons alone": tuple(momentary(f"push {i}") for i in range(3)),
    "more positions than one word has bits": (key(), *(rotary(f"rotary {i}", "01234567") for i in range(8))),
}


@pytest.mark.parametrize("controls", CABINS.values(), ids=CABINS)
@pytest.mark.parametrize("live", [True, False])
def test_cabins_of_any_kind_come_to_an_end(controls: tuple[CabinControl, ...], live: bool) -> None:
    run = driven(lambda p: live and p[0] == 1, controls)
    outcome = run.hunt.result()
    asked_for = not any(one.harm for one in controls) and live
    assert run.hunt.next_step() is None
    assert (outcome.grade in (Grade.PROVED, Grade.LIKELY)) is asked_for
    assert (outcome.grade is Grade.NOT_FOUND) is not asked_for


def test_a_wire_that_is_always_live_has_a_path_without_conditions() -> None:
    outcome = driven(lambda p: True).hunt.result()
    assert outcome.rule is not None and [path.conditions for path in outcome.rule.paths] == [()]


def test_a_low_battery_stops_the_hunt() -> None:
    hunt = Hunt(CABIN)
    hunt.next_step()
    hunt.seen([WireLook(level=WireLevel.OPEN, battery_v=11.7)])
    assert hunt.next_step() is None and hunt.result().grade is Grade.STOPPED


def test_what_the_person_did_instead_counts() -> None:
    run = Driven(Hunt(CABIN), lambda p: p[1] == 1)
    ask = run.hunt.next_step()
    assert ask is not None
    run.answer(ask)
    moves = (Move(control="saloon lights", position=1),)
    run.hunt.did_something_else(moves, run.move([(move.control, move.position) for move in moves]))
    assert run.hunt.record.state.tolist() == [0, 1, 0, 0, 0, 0]
    assert run.hunt.leading is not None
    run.run()
    assert conditions(run) == [{("saloon lights", (1,))}] and run.hunt.result().grade is Grade.PROVED


def test_a_stored_hunt_goes_on_where_it_was() -> None:
    whole = Driven(Hunt(CABIN, seed=5), lambda p: p[0] == 2 and p[1]).run()
    half = Driven(Hunt(CABIN, seed=5), whole.wire)
    for _ in range(4):
        ask = half.hunt.next_step()
        assert ask is not None
        half.answer(ask)
    stored = half.hunt.diary().model_dump_json()
    again = Driven(Hunt.replay(Diary.model_validate_json(stored)), whole.wire, positions=list(half.positions)).run()
    assert [*half.asked, *again.asked] == whole.asked
    assert again.hunt.result() == whole.hunt.result()


def test_asking_twice_changes_nothing() -> None:
    hunt = Hunt(CABIN)
    assert hunt.next_step() is hunt.next_step() and hunt.diary().entries == ()


WRONG: list[tuple[Callable[[Hunt], None], type[Exception], str]] = [
    (lambda hunt: hunt.seen([]), ValueError, "expected 1 looks"),
    (lambda hunt: hunt.read_back([0]), ValueError, "expected 6 positions"),
    (lambda hunt: hunt.read_back([0, 0, 0, 1, 0, 0]), ValueError, "cannot stay"),
    (lambda hunt: hunt.paused(), ValueError, "no pause"),
    (
        lambda hunt: hunt.did_something_else([Move(control="ramp", position=1)], [WireLook(level=WireLevel.ON)]),
        KeyError,
        "ramp",
    ),
]


@pytest.mark.parametrize(("answer", "error", "says"), WRONG, ids=lambda one: one if isinstance(one, str) else "")
def test_an_answer_that_fits_nothing_is_refused_and_leaves_no_trace(
    answer: Callable[[Hunt], None], error: type[Exception], says: str
) -> None:
    hunt = Hunt(CABIN)
    with pytest.raises(error, match=says):
        answer(hunt)
    assert hunt.diary().entries == () and not hunt.record.looks and hunt.record.state.tolist() == [0] * 6


def test_a_step_that_comes_again_says_why() -> None:
    for wire, _ in RULES:
        seen: set[tuple[int, ...]] = set()
        run = Driven(Hunt(CABIN), wire)
        while (ask := run.hunt.next_step()) is not None:
            if isinstance(ask, SetStep):
                walk = run.hunt.space.through(run.hunt.record.state, run.hunt.space.numbered(ask.moves))
                settings = {tuple(int(p) for p in one) for one in walk}
                assert ask.reason is not AskReason.SEARCH or settings - seen
                seen |= settings
            run.answer(ask)
