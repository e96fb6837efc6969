"""A request that moves energy is done once, however often the line says it; and logs say of which step they are."""

from itertools import pairwise

import pytest
from firmware_native import BRANCHES, COIL, Record, Script, content

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Message, Result

ENERGY = [message for message in wire.MESSAGES.values() if message.energy and message is not wire.FOLLOW_COIL]
"""That one switches nothing on."""
NAMES = [message.name for message in ENERGY]


def results(record: Record, sequence: int = 9) -> list[Result]:
    """Of all answers to that sequence number, in order."""
    return [answer.result for _, answer in record.answers if answer.sequence == sequence]


def switched_on(record: Record, bits: int) -> int:
    """How often any of these outputs came on."""
    words = [0, *(word for _, word in record.outputs)]
    return sum(bool(now & bits) and not was & bits for was, now in pairwise(words))


@pytest.mark.parametrize("message", ENERGY, ids=NAMES)
@pytest.mark.parametrize("later_ms", [1, 200, 700])
def test_the_same_frame_twice_is_done_once(message: Message, later_ms: float) -> None:
    script = Script()
    script.raw(10, frame(content(message, 9)))
    script.raw(10 + later_ms, frame(content(message, 9)))
    record = script.run(2000)
    assert sorted(results(record)) == [Result.DONE, Result.REPEAT]
    assert switched_on(record, COIL | BRANCHES) == 1


def test_a_repeat_is_refused_also_when_what_it_did_has_tripped_meanwhile() -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 9, on_ms=20)))
    script.raw(100, frame(content(wire.HOLD_COIL, 9, on_ms=20)))
    assert results(script.run(200)) == [Result.DONE, Result.REPEAT]


ORDERS = [message for message in wire.MESSAGES.values() if message.order and message is not wire.ALL_OFF]


@pytest.mark.parametrize("message", ORDERS, ids=[message.name for message in ORDERS])
def test_no_order_is_done_before_a_host_has_begun(message: Message) -> None:
    """After a restart the newest number was 0: the host's next load pulse ran before it heard of the restart."""
    script = Script(begun=False)
    for ms, asked in ((10, wire.GREET), (20, wire.STATUS), (30, message)):
        script.raw(ms, frame(content(asked, 9)))
    script.raw(200, frame(content(wire.BEGIN, 10, start=script.start - 1)))  # an old one, of the start before
    script.raw(210, frame(content(message, 11)))
    script.raw(220, frame(content(wire.BEGIN, 12, start=script.start)))
    script.raw(230, frame(content(message, 9)))  # a copy is not done then either
    script.raw(240, frame(content(message, 13)))
    record = script.run(400)
    assert results(record)[2:] == [Result.NOT_BEGUN, Result.REPEAT]
    assert [record.answer(asked).result for asked in (10, 11, 12)] == [Result.NOT_BEGUN, Result.NOT_BEGUN, Result.DONE]
    refused = {wire.MAKE_BARE: Result.BUILD, wire.WATCH_LEAD: Result.BUILD, wire.FOLLOW_COIL: Result.STOPPED}
    assert record.answer(13).result is refused.get(message, Result.DONE)
    assert not [word for ms, word in record.outputs if ms < 240 and word]


def test_all_off_needs_no_beginning() -> None:
    script = Script(begun=False)
    script.raw(10, frame(content(wire.ALL_OFF, 9)))
    assert results(script.run(50)) == [Result.DONE]


@pytest.mark.parametrize("message", ORDERS, ids=[message.name for message in ORDERS])
def test_a_copy_that_comes_late_is_not_done(message: Message) -> None:
    """Only the very last one was known again: a copy of the one before it was done, and turned the coil on."""
    script = Script()
    script.raw(10, frame(content(message, 9)))
    script.raw(600, frame(content(wire.HOLD_COIL, 10, on=0)))
    script.raw(610, frame(content(wire.ALL_OFF, 11)))
    script.raw(620, frame(content(message, 9)))
    record = script.run(1500)
    assert results(record)[1:] == [Result.REPEAT]
    assert not [word for ms, word in record.outputs if ms > 612 and word]


@pytest.mark.parametrize("between", [wire.GREET, wire.STATUS, wire.READ_NOTES])
def test_no_question_makes_the_board_forget(between: Message) -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 9, on_ms=20)))
    for i in range(300):
        script.raw(50 + 2 * i, frame(content(between, (10 + i) % 256)))
    script.raw(700, frame(content(wire.HOLD_COIL, 9)))
    assert [one for one in results(script.run(800)) if one is Result.REPEAT] == [Result.REPEAT]


@pytest.mark.parametrize(
    ("ahead", "done"), [(1, True), (16, True), (17, False), (129, False), (255, False), (256, False)]
)
def test_an_order_is_done_when_its_number_is_ahead(ahead: int, done: bool) -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 10)))
    script.raw(100, frame(content(wire.HOLD_COIL, (10 + ahead) % 256)))
    results = [answer.result for _, answer in script.run(200).answers]
    assert results == [Result.DONE, Result.DONE if done else Result.REPEAT]


def test_what_was_refused_is_not_done_when_its_copy_comes() -> None:
    """Refused as busy, it was not remembered, and its copy turned the coil on behind the host's back."""
    script = Script()
    script.raw(10, frame(content(wire.STEP_COIL, 8)))
    script.raw(15, frame(content(wire.HOLD_COIL, 9)))
    script.raw(100, frame(content(wire.HOLD_COIL, 9)))
    assert results(script.run(200)) == [Result.BUSY, Result.REPEAT]


def test_a_new_host_is_told_where_to_go_on() -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 12)))
    script.raw(100, frame(content(wire.GREET, 1)))
    script.raw(110, frame(content(wire.HOLD_COIL, 13)))
    record = script.run(200)
    assert record.answer(1).number("order") == 12
    assert record.answer(13).result is Result.DONE


def test_a_late_all_off_is_done_and_told() -> None:
    script = Script()
    script.raw(10, frame(content(wire.ALL_OFF, 8)))
    script.raw(20, frame(content(wire.HOLD_COIL, 9)))
    script.raw(30, frame(content(wire.STATUS, 1)))
    script.raw(40, frame(content(wire.ALL_OFF, 8)))
    script.raw(50, frame(content(wire.STATUS, 2)))
    script.raw(60, frame(content(wire.HOLD_COIL, 9)))
    script.raw(70, frame(content(wire.GREET, 3)))
    record = script.run(100)
    assert [record.answer(asked).number("order") for asked in (1, 2, 3)] == [9, 8, 9]
    assert record.outputs_at(45) == 0
    assert results(record) == [Result.DONE, Result.REPEAT]


@pytest.mark.parametrize("question", [wire.STATUS, wire.GREET, wire.READ_NOTES])
def test_a_copy_of_a_question_renews_no_lease(question: Message) -> None:
    """One old status, said again every 450 ms by the line, kept the coil on for as long as its on-time let it."""
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 1)))
    script.raw(50, frame(content(question, 27)))
    for copy in range(1, 4):
        script.raw(50 + 200 * copy, frame(content(question, 27)))
    record = script.run(1000)
    assert len(results(record, 27)) == 4
    assert 540 < record.off_ms(COIL) <= 550.3


def test_copies_of_three_questions_in_turn_renew_no_lease() -> None:
    """Each was ahead of the one before by half of all numbers or less, for ever."""
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 1)))
    for turn in range(6):
        script.raw(50 + 200 * turn, frame(content(wire.STATUS, (30 + 85 * (turn % 3)) % 256)))
    assert 540 < script.run(1500).off_ms(COIL) <= 550.3


def test_a_new_host_is_told_from_where_its_questions_renew_the_lease() -> None:
    script = Script()
    script.raw(10, frame(content(wire.STATUS, 30)))
    script.raw(20, frame(content(wire.GREET, 1)))
    assert script.run(50).answer(1).number("question") == 30


def test_logs_say_of_which_step_they_are() -> None:
    script = Script()
    first = script.send(10, wire.STEP_COIL, window_ms=10)
    read = [script.send(50, wire.READ_EDGES), script.send(60, wire.READ_SAMPLES)]
    second = script.send(70, wire.HOT_STEP, window_ms=10)
    late = [script.send(120, wire.READ_EDGES), script.send(130, wire.READ_SAMPLES)]
    record = script.run(200)
    was, now = record.answer(first).number("log"), record.answer(second).number("log")
    assert was != now
    assert [record.answer(asked).number("log") for asked in (*read, *late)] == [was, was, now, now]
