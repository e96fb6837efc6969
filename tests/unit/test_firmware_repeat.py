"""A request that moves energy is done once, however often the line says it; and logs say of which step they are."""

from itertools import pairwise

import pytest
from firmware_native import BRANCHES, COIL, Record, Script, content

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Message, Result

ENERGY = [message for message in wire.MESSAGES.values() if message.energy]
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


@pytest.mark.parametrize("change", [{"sequence": 10}, {"dac": 1801}])
def test_the_next_request_is_no_repeat(change: dict[str, int]) -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 9)))
    script.raw(100, frame(content(wire.HOLD_COIL, **({"sequence": 9} | change))))
    assert [answer.result for _, answer in script.run(200).answers] == [Result.DONE, Result.DONE]


def test_a_new_host_may_begin_with_what_the_last_one_did() -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 9)))
    script.raw(100, frame(content(wire.GREET, 1)))
    script.raw(110, frame(content(wire.HOLD_COIL, 9)))
    assert results(script.run(200)) == [Result.DONE, Result.DONE]


@pytest.mark.parametrize(("between", "last"), [(127, Result.REPEAT), (255, Result.DONE)])
def test_a_sequence_number_that_comes_round_again_is_no_repeat(between: int, last: Result) -> None:
    script = Script()
    script.raw(10, frame(content(wire.HOLD_COIL, 9)))
    for i in range(between):
        script.raw(20 + i, frame(content(wire.STATUS, (10 + i) % 256)))
    script.raw(300, frame(content(wire.HOLD_COIL, 9)))
    assert results(script.run(400))[-1] is last


def test_a_request_that_was_refused_may_come_again_as_it_was() -> None:
    script = Script()
    script.stop(5, True)
    script.raw(10, frame(content(wire.HOLD_COIL, 9)))
    script.stop(15, False)
    script.send(20, wire.ACKNOWLEDGE)
    script.raw(30, frame(content(wire.HOLD_COIL, 9)))
    assert results(script.run(100)) == [Result.TRIPPED, Result.DONE]


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
