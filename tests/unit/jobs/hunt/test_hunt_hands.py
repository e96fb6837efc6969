"""Keys while a wire is hunted: done, done otherwise, positions read one by one, presses meant for another screen."""

from collections.abc import Callable

from cab import CABIN, Cab

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.hands import CHANGED, KeyHands
from pulldrop.jobs.hunt.loop import Done, Leave, Otherwise, Positions
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.jobs.vehicle import boards
from pulldrop.model.crate.crate import Command, Control
from pulldrop.model.hunt.ask import AskReason, Move, ReadBackStep
from pulldrop.model.hunt.look import Side
from pulldrop.model.hunt.view import HuntView

BOARD = LeadBoard(boards.vehicle("depot-van-3"), 1).identity


def asked(clock: Callable[[], float] = lambda: 0.0) -> tuple[KeyHands, list[HuntView], Hunt]:
    """A first step with moves."""
    views: list[HuntView] = []
    hands = KeyHands(BOARD, "the wire", CABIN.listed(), views.append, clock)
    hunt = Hunt(CABIN.listed())
    cab = Cab(CABIN.listed(), lambda *_: 0.0)
    wire = HuntedWire(cab.read, Side.HIGH)
    wire.settle()
    hunt.seen([wire.after(wire.now_s, 0.1, 0.1)])
    ask = hunt.next_step()
    assert ask is not None
    hands.asks(hunt, ask, 0)
    return hands, views, hunt


def typed(hands: KeyHands, keys: str) -> list[object]:
    """The answers, without those that are not whole."""
    for key in keys:
        hands.key(key)
    return [answer for answer in (hands.answer() for _ in keys) if answer is not None]


def test_space_is_done_and_q_leaves() -> None:
    hands, views, _ = asked()
    assert views[-1].simulated and views[-1].steps
    assert typed(hands, " q") == [Done(), Leave()]


def test_esc_leaves_where_there_is_nothing_to_go_back_to() -> None:
    hands, _, hunt = asked()
    assert typed(hands, "\x1b") == [Leave()]
    hands.asks(hunt, ReadBackStep(reason=AskReason.SURPRISED), 0)
    assert typed(hands, "3\x1b\x1b") == [Leave()]


def test_a_hunt_is_left_where_nobody_presses_a_key_for_half_an_hour() -> None:
    clock = [0.0]
    hands, _, _ = asked(lambda: clock[0])
    clock[0] = 1700.0
    assert typed(hands, "o") == [] and hands.answer() is None
    clock[0] = 3400.0
    assert hands.answer() is None, "a key was pressed meanwhile"
    clock[0] = 3600.0
    assert hands.answer() == Leave()


def test_something_else_is_picked_by_letter_and_digit() -> None:
    hands, views, _ = asked()
    before = views[-1]
    made = (Move(control="fan", position=2), Move(control="bell", position=1), Move(control="bell", position=0))
    assert typed(hands, "oc3d ") == [Otherwise(made)]
    assert typed(hands, "") == []
    hands, views, _ = asked()
    assert typed(hands, "oc\x1b\x1b") == []
    assert (views[-1].now, views[-1].choices) == (before.now, before.choices)


def test_a_position_taken_back_is_not_in_it() -> None:
    hands, _, _ = asked()
    assert typed(hands, "ob2c2\x1b ") == [Otherwise((Move(control="lamps", position=1),))]


def test_positions_are_read_one_by_one_and_none_is_suggested() -> None:
    hands, views, hunt = asked()
    hands.asks(hunt, ReadBackStep(reason=AskReason.SURPRISED), 0)
    assert [one.says for one in views[-1].choices if one.key.isdigit()] == ["OFF", "ACC", "ON"]
    assert typed(hands, "39x2\x1b1 21") == [Positions((2, 0, 1, 0))]


def test_a_press_that_was_meant_for_another_screen_is_refused() -> None:
    hands, views, hunt = asked()
    old = views[-1].version
    assert hands.press(Command(control=Control.GO, seen=old)) == ""
    assert hands.answer() == Done()
    hands.asks(hunt, ReadBackStep(reason=AskReason.SURPRISED), 0)
    assert hands.press(Command(control=Control.GO, seen=old)) == CHANGED
    assert "does nothing" in hands.press(Command(control=Control.GO, seen=views[-1].version))
    assert hands.press(Command(control=Control.CHOOSE, text="3", seen=views[-1].version)) == ""
    assert hands.press(Command(control=Control.CHOOSE, text="7", seen=views[-1].version)) != ""
    assert hands.answer() is None and views[-1].typed == ("key: ON",)


def test_what_is_tapped_in_play_is_a_touch() -> None:
    hands, views, _ = asked()
    hands.plays(60)
    assert views[-1].word == "PLAY"
    assert typed(hands, "a3db2") == []
    assert hands.touches() == [("key", 2), ("bell", 1), ("lamps", 1)]
    assert hands.touches() == []
    assert typed(hands, " ") == [Done()]


def test_a_silent_board_is_stale_until_it_is_back() -> None:
    hands, views, _ = asked()
    hands.lost("The board does not answer.")
    assert views[-1].stale
    wire = HuntedWire(Cab(CABIN.listed(), lambda *_: 12.6).read, Side.HIGH)
    wire.settle()
    hands.sees(wire, 0.0)
    assert not views[-1].stale and views[-1].acts


def test_after_ten_minutes_tracing_by_fuses_is_offered() -> None:
    hands, views, hunt = asked()
    assert "fuse" not in views[-1].why
    cab = Cab(CABIN.listed(), lambda *_: 0.0, now_s=600.0)
    wire = HuntedWire(cab.read, Side.HIGH)
    wire.settle()
    hands.sees(wire, 0.0)
    ask = hunt.next_step()
    assert ask is not None
    hands.asks(hunt, ask, 0)
    assert "pull one fuse after the other" in views[-1].why
