"""Which looks prove something before the wire's delays are known."""

from pulldrop.hunt.delays import LONGEST_S, MARGIN_S, WAIT_S, Delays
from pulldrop.hunt.space import MOVE_S
from pulldrop.model.hunt.ask import AskReason, Move
from pulldrop.model.hunt.diary import StepSeen
from pulldrop.model.hunt.look import ACTS, Side, WireLevel, WireLook


def on(rose_s: float | None = None) -> WireLook:
    return WireLook(level=WireLevel.ON, rose_s=rose_s)


def off(fell_s: float | None = None) -> WireLook:
    return WireLook(level=WireLevel.OPEN, fell_s=fell_s)


def step(*looks: WireLook, pace_s: float = WAIT_S, fall_s: float = LONGEST_S, fall: bool = False) -> StepSeen:
    reason = AskReason.FALL if fall else AskReason.SEARCH
    moves = tuple(Move(control=f"switch {i}", position=1) for i in range(len(looks)))
    return StepSeen(moves=moves, looks=looks, pace_s=pace_s, wait_s=WAIT_S, fall_s=fall_s, reason=reason)


def delays() -> Delays:
    return Delays(ACTS[Side.HIGH])


def test_still_on_proves_nothing_while_the_fall_is_unknown() -> None:
    made = delays()
    assert made.take(step(on(0.1), on(), fall_s=5.0)) == [(WireLevel.ON, True), None]
    assert made.take(step(off(6.0))) == [(WireLevel.OPEN, False)]
    assert made.fall_s == 6.0
    assert made.take(step(on(0.1), on(), fall_s=made.hold_s)) == [(WireLevel.ON, True)] * 2


def test_still_on_after_the_longest_timer_is_on() -> None:
    made = delays()
    made.take(step(on(0.1)))
    assert made.take(step(on(), fall=True)) == [(WireLevel.ON, True)]


def test_while_the_fall_is_timed_the_last_look_alone_counts() -> None:
    made = delays()
    made.take(step(on(0.1)))
    assert made.take(step(on(), on(), fall=True)) == [None, (WireLevel.ON, True)]


def test_a_known_delay_shortens_the_wait_and_a_longer_one_lengthens_it() -> None:
    made = delays()
    assert (made.wait_s, made.pace_s, made.hold_s) == (WAIT_S, MOVE_S, LONGEST_S)
    made.take(step(on(0.2), off(0.0)))
    assert made.wait_s < 1 and made.pace_s == made.wait_s and made.hold_s < 1
    made.take(step(on(1.0), off(12.0)))
    assert made.wait_s > 1.0 + MARGIN_S and made.hold_s > 12.0


def test_a_wire_that_came_on_while_the_hand_went_on_teaches_no_delay() -> None:
    made = delays()
    made.take(step(off(), on(0.3), pace_s=MOVE_S))
    assert made.rise_s is None and made.wait_s == WAIT_S, "the move before may have caused it"
    assert made.pace_s == WAIT_S


def test_a_fall_without_a_time_is_at_most_what_was_watched() -> None:
    made = delays()
    made.take(step(on(0.1), off(), fall_s=9.0))
    assert made.fall_s == 9.0
    made.take(step(on(0.1), off(), fall_s=20.0))
    assert made.fall_s == 9.0
