"""The firmware's vehicle lead on this PC: what is read and kept, what ends a watch, and that nothing is driven."""

import pytest
from firmware_native import Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message, Result

LEAD = (wire.SENSE_GROUND, wire.WATCH_LEAD, wire.READ_LEAD)
READING = (5400, 1800, 2400, 600)
"""X1 to X4 are on lines 9, 3, 4 and 1, of which this bench converts 100 a line, six of them summed."""


def bare_script() -> Script:
    script = Script()
    script.parts(0, False)
    script.stop(0, True)
    return script


def read(record: Record, asked: int) -> tuple[int, int, list[tuple[int, ...]]]:
    answer = record.answer(asked)
    counts = answer.numbers("readings")
    return answer.number("first"), answer.number("next"), [counts[i : i + 4] for i in range(0, len(counts), 4)]


@pytest.mark.parametrize("message", [wire.SENSE_GROUND, wire.WATCH_LEAD])
def test_a_full_build_has_no_lead(message: Message) -> None:
    script = Script()
    asked = script.send(50, message)
    assert script.run(200).answer(asked).result is Result.BUILD


def test_a_watch_reads_four_clips_every_2_4_ms_and_tells_six_readings_at_a_time() -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    first, second = script.send(75, wire.READ_LEAD, first=0), script.send(76, wire.READ_LEAD, first=6)
    record = script.run(100)
    assert read(record, first) == (0, 10, [READING] * 6)
    assert read(record, second) == (6, 10, [READING] * 4)


def test_readings_asked_for_again_are_the_same_ones() -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    asked = [script.send(ms, wire.READ_LEAD, first=3) for ms in (70, 80)]
    record = script.run(100)
    assert [read(record, one)[0] for one in asked] == [3, 3]


def test_of_what_was_not_asked_for_in_time_the_newest_63_are_kept_and_the_number_shows_the_gap() -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    script.keep_alive(60, 500)
    asked, ahead = script.send(410, wire.READ_LEAD, first=5), script.send(411, wire.READ_LEAD, first=9000)
    record = script.run(500)
    first, following, told = read(record, asked)
    assert (following, first, len(told)) == (150, 150 - 63, 6)
    assert read(record, ahead)[0] == following - 63, "a number that was never made is none to wait for"


@pytest.mark.parametrize("message", [wire.ALL_OFF, wire.SENSE_GROUND, wire.SENSE_ANALOG, wire.SCAN])
def test_whatever_else_converts_and_all_off_end_a_watch(message: Message) -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    script.send(60, message, channel=1)
    asked = script.send(200, wire.READ_LEAD)
    assert script.run(300).answer(asked).result is Result.STOPPED


def test_a_watch_ends_with_the_lease_and_goes_on_while_it_is_read() -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    for ms in range(100, 1500, 100):
        script.send(ms, wire.READ_LEAD)
    late = script.send(2000, wire.READ_LEAD)
    record = script.run(2100)
    assert [answer.result for ms, answer in record.answers if 100 <= ms < 1500] == [Result.DONE] * 14
    assert record.answer(late).result is Result.STOPPED


def test_the_lead_drives_nothing() -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    script.send(80, wire.READ_LEAD)
    ground = script.send(100, wire.SENSE_GROUND)
    record = script.run(300)
    assert record.outputs == () and [what for _, what, _ in record.scan if what == "pins"] == []
    assert record.answer(ground).number("sum") == 16 * 200, "X5 is on line 2"


def test_a_board_that_is_no_longer_bare_watches_no_more() -> None:
    script = bare_script()
    script.send(50, wire.WATCH_LEAD)
    script.keep_alive(60, 600)
    script.parts(100, True)
    asked = script.send(500, wire.READ_LEAD)
    assert script.run(600).answer(asked).result is Result.STOPPED
