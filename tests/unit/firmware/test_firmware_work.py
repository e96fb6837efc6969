"""The board's pieces of work: steps, staircases, load pulses, senses, and what is served meanwhile."""

import pytest
from firmware_native import BRANCHES, COIL, DIODE, DRY_NC, DRY_NO, THROW_NC, THROW_NO, Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message, Result

DRY = DRY_NO | DRY_NC
CLOSED, NC_BIT = 1 << 31, 1 << 30
NO, NC = 1, 2


def step_at(record: Record) -> float:
    return record.on_ms(COIL)


def test_a_step_sets_the_dac_waits_for_it_and_then_switches() -> None:
    script = Script()
    script.send(10, wire.STEP_COIL, dac=1800)
    record = script.run(100)
    set_at = next(ms for ms, code in record.dac if code == 1800)
    assert record.outputs[0][1] == DRY
    assert 3 <= step_at(record) - set_at <= 4.1
    assert [word for _, word in record.outputs] == [DRY, COIL | DRY]


@pytest.mark.parametrize("message", [wire.LOAD_PULSE, wire.HOT_STEP, wire.WATCH_LOAD])
def test_a_load_whose_converter_is_dead_does_not_come_on(message: Message) -> None:
    """It was on for 205 ms, and then the bus was told."""
    script = Script()
    script.parts(5, False)
    asked = script.send(10, message)
    record = script.run(100)
    assert record.answer(asked).result is Result.BUS
    assert record.outputs == ()


def test_a_release_opens_the_coil_before_the_dac_changes() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=1800)
    script.send(100, wire.STEP_COIL, dac=0, on=0, diode=1, window_ms=30)
    record = script.run(200)
    assert record.dac[-1][1] == 0
    assert record.dac[-1][0] >= record.off_ms(COIL) + 30
    assert [word for _, word in record.outputs][-2:] == [COIL | DIODE | DRY, DIODE | DRY]


def test_hold_off_opens_the_coil_with_its_clamp_before_the_dac_changes() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=1800)
    script.send(100, wire.HOLD_COIL, dac=0, on=0, diode=1, dry=1)
    record = script.run(200)
    assert [word for _, word in record.outputs] == [DRY, COIL | DRY, COIL | DIODE | DRY_NO, DIODE | DRY_NO]
    assert [code for ms, code in record.dac if ms > 50] == [0]
    assert record.dac[-1][0] > record.off_ms(COIL)


def test_edges_are_counted_from_the_step_in_half_microseconds() -> None:
    script = Script()
    script.contacts(1, NC)
    asked = script.send(10, wire.STEP_COIL, window_ms=30)
    step = step_at(script.run(100))
    script.contacts(step + 4.0005, 0)
    script.contacts(step + 5.25, NO)
    read = script.send(90, wire.READ_EDGES)
    record = script.run(100)
    assert record.answer(asked).number("before") == NC
    assert record.answer(asked).number("edges") == 2
    opened, closed = record.answer(read).numbers("edges")
    assert opened & (CLOSED | NC_BIT) == NC_BIT
    assert closed & (CLOSED | NC_BIT) == CLOSED
    assert [word & (NC_BIT - 1) for word in (opened, closed)] == pytest.approx([8001, 10500], abs=2)


def test_edges_beyond_the_room_are_told_as_lost_and_those_after_the_window_are_none() -> None:
    script = Script()
    asked = script.send(10, wire.STEP_COIL, window_ms=30)
    step = step_at(script.run(100))
    for i in range(51):
        script.contacts(step + 1 + 0.1 * i, (i + 1) % 2)
    script.contacts(step + 30.4, 0)
    reads = [script.send(60 + i, wire.READ_EDGES, first=first) for i, first in enumerate((0, 12, 24, 36, 40))]
    record = script.run(100)
    assert (record.answer(asked).number("edges"), record.answer(asked).number("edges_lost")) == (40, 1)
    assert [len(record.answer(read).numbers("edges")) for read in reads] == [12, 12, 12, 4, 0]


def test_throws_without_feed_read_open() -> None:
    script = Script()
    script.contacts(1, NO | NC)
    asked = []
    for i, dry in enumerate((0, 1, 2, 3)):
        script.send(10 + 10 * i, wire.HOLD_COIL, on=0, dry=dry)
        asked.append(script.send(15 + 10 * i, wire.STATUS))
    record = script.run(100)
    assert [record.answer(each).number("contacts") for each in asked] == [0, 1, 2, 3]


@pytest.mark.parametrize(
    ("window_ms", "divider", "samples"), [(20, 1, 360), (10, 1, 200), (30, 3, 200), (1, 100, 1), (200, 100, 40)]
)
def test_samples_span_the_window_and_stop_where_the_room_ends(window_ms: int, divider: int, samples: int) -> None:
    script = Script()
    asked = script.send(10, wire.STEP_COIL, window_ms=window_ms, divider=divider)
    assert script.run(400).answer(asked).number("samples") == samples


def test_samples_follow_the_current_from_the_step_on() -> None:
    script = Script()
    script.current(1, 7)
    script.send(10, wire.STEP_COIL, window_ms=10, divider=2)
    step = step_at(script.run(100))
    script.current(step + 2.01, 400)
    read = script.send(80, wire.READ_SAMPLES, first=15)
    samples = script.run(100).answer(read).numbers("samples")
    assert samples == (7,) * 5 + (400,) * 20


def test_samples_of_the_low_end_follow_it_and_the_next_step_samples_the_current_again() -> None:
    script = Script()
    script.current(1, 7)
    script.low_end(1, 600)
    script.send(10, wire.STEP_COIL, on=0, window_ms=10, low_side=1)
    read = script.send(60, wire.READ_SAMPLES, first=0)
    script.send(70, wire.STEP_COIL, on=0, window_ms=10)
    again = script.send(120, wire.READ_SAMPLES, first=0)
    record = script.run(150)
    assert record.answer(read).numbers("samples") == (600,) * 25
    assert record.answer(again).numbers("samples") == (7,) * 25


def test_the_low_end_is_not_sampled_with_the_coil_on_because_the_guard_needs_the_current() -> None:
    script = Script()
    asked = script.send(10, wire.STEP_COIL, on=1, low_side=1)
    record = script.run(60)
    assert record.answer(asked).result is Result.ARGUMENT


def test_a_step_is_over_when_its_window_is() -> None:
    script = Script()
    asked = script.send(10, wire.STEP_COIL, window_ms=50)
    record = script.run(100)
    assert 50 <= record.answered_ms(asked) - step_at(record) <= 52


def test_a_staircase_ends_at_the_step_where_the_contact_comes_and_stays_there() -> None:
    script = Script()
    asked = script.send(10, wire.STAIRCASE, dac=600, step=7, count=100, dwell_ms=20, watch=NO, wanted=NO)
    script.contacts(111, NO)
    script.keep_alive(20, 500)
    answer = (record := script.run(500)).answer(asked)
    assert (answer.number("stopped"), answer.number("contacts")) == (1, NO)
    assert answer.number("dac") == 600 + 7 * answer.number("index") == record.dac[-1][1]
    assert 4 <= answer.number("index") <= 5
    assert record.outputs_at(499) & COIL


def test_a_staircase_may_go_down_and_may_not_arrive() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=900)
    script.contacts(15, NO)
    asked = script.send(20, wire.STAIRCASE, dac=900, step=-10, count=5, dwell_ms=2, watch=NO, wanted=0)
    answer = script.run(100).answer(asked)
    assert [answer.number(name) for name in ("stopped", "index", "dac", "contacts")] == [0, 4, 860, NO]


@pytest.mark.parametrize(("throw", "mux", "bit", "dry"), [(1, 1, THROW_NO, DRY_NO), (2, 2, THROW_NC, DRY_NC)])
def test_a_load_pulse_loads_one_throw_and_samples_drop_and_shunt(throw: int, mux: int, bit: int, dry: int) -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    loaded = script.send(50, wire.LOAD_PULSE, throw=throw, branches=4, samples=3, gain=3, settle_ms=20)
    unloaded = script.send(200, wire.LOAD_PULSE, throw=throw, branches=0, samples=12, gain=5)
    record = script.run(400)
    words = [word for _, word in record.outputs]
    assert words[2:] == [COIL | bit | 4 << 2, COIL | DRY, COIL | dry, COIL | DRY]
    assert record.answer(loaded).numbers("drop") == (1000 * mux + 3,) * 3
    assert record.answer(loaded).numbers("shunt") == (6005,) * 3
    assert record.answer(unloaded).numbers("drop") == (1000 * mux + 5,) * 12
    assert record.off_ms(BRANCHES) - record.on_ms(BRANCHES) >= 20 + 6 * 1.163


LOAD_NO, LOAD_NC = THROW_NO | 4 << 2, THROW_NC | 4 << 2


def test_a_hot_step_loads_the_throw_then_steps_the_coil_and_ends_with_the_load_off_and_the_coil_on() -> None:
    script = Script()
    asked = script.send(10, wire.HOT_STEP, dac=1800, window_ms=20, gain=3)
    record = script.run(100)
    words = [word for _, word in record.outputs]
    assert words == [DRY, DRY | LOAD_NO, COIL | DRY | LOAD_NO, COIL | DRY]
    assert 1 <= step_at(record) - record.on_ms(BRANCHES) <= 2.1
    assert 20 + 2 * 1.163 <= record.off_ms(BRANCHES) - step_at(record) <= 25
    answer = record.answer(asked)
    assert (answer.number("drop"), answer.number("shunt")) == (1003, 6005)
    assert answer.number("samples") == 360


def test_a_hot_make_of_nc_releases_the_coil_under_load_and_its_dac_waits_for_the_end() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=1800)
    asked = script.send(50, wire.HOT_STEP, dac=0, on=0, throw=2, window_ms=20, gain=5)
    record = script.run(100)
    words = [word for _, word in record.outputs]
    assert words[2:] == [COIL | DRY | LOAD_NC, DRY | LOAD_NC, DRY]
    assert record.dac[-1][1] == 0
    assert record.dac[-1][0] > record.off_ms(BRANCHES)
    assert record.answer(asked).number("drop") == 2005


def test_edges_of_a_hot_step_are_counted_from_the_step() -> None:
    script = Script()
    script.contacts(1, NC)
    asked = script.send(10, wire.HOT_STEP, window_ms=30)
    step = step_at(script.run(100))
    script.contacts(step + 4.0005, 0)
    script.contacts(step + 5.25, NO)
    read = script.send(90, wire.READ_EDGES)
    record = script.run(100)
    assert record.answer(asked).number("before") == NC
    ticks = [word & (NC_BIT - 1) for word in record.answer(read).numbers("edges")]
    assert ticks == pytest.approx([8001, 10500], abs=2)


def test_senses_are_answered_with_their_counts() -> None:
    script = Script()
    coil = script.send(10, wire.SENSE_COIL)
    channels = [script.send(50 + 50 * i, wire.SENSE_ANALOG, channel=i) for i in range(4)]
    record = script.run(400)
    assert (record.answer(coil).number("bus"), record.answer(coil).number("shunt")) == (10800, 6200)
    assert record.answered_ms(coil) - 10 >= 8.8
    assert [record.answer(each).number("sum") for each in channels] == [1600, 1616, 1632, 1648]


@pytest.mark.parametrize("bit", [0, 7, 10, 15])
def test_a_result_whose_bits_the_bus_turned_over_is_not_answered(bit: int) -> None:
    """One bit of the coil's current made a sound coil of 85 ohm one of 4 ohm."""
    script = Script()
    coil, again = script.send(10, wire.SENSE_COIL), script.send(60, wire.SENSE_COIL)
    script.flip(12, 1 << bit)
    record = script.run(400)
    assert record.answer(coil).result is Result.BUS
    assert (record.answer(again).number("bus"), record.answer(again).number("shunt")) == (10800, 6200)


@pytest.mark.parametrize("bit", [5, 8, 9, 11, 12, 14])
def test_a_drop_converted_with_another_setting_is_not_answered(bit: int) -> None:
    """Another gain or another input than was asked for: a fault of the drop by a factor, or of another contact."""
    script = Script()
    script.flip(12, 1 << bit)
    asked = script.send(10, wire.LOAD_PULSE, throw=1, branches=0, samples=4, gain=5, settle_ms=5, limit_ms=100)
    record = script.run(400)
    assert record.answer(asked).result is Result.BUS


WORK = [wire.STEP_COIL, wire.STAIRCASE, wire.LOAD_PULSE, wire.HOT_STEP, wire.SENSE_COIL, wire.SENSE_ANALOG]


def begin(script: Script, message: Message) -> int:
    """Work that takes long enough to be disturbed 3 ms later."""
    return script.send(10, message, window_ms=100, dwell_ms=100, settle_ms=80, limit_ms=400)


@pytest.mark.parametrize("work", WORK, ids=lambda message: message.name)
def test_while_work_runs_the_state_is_told_and_further_work_is_refused_as_busy(work: Message) -> None:
    script = Script()
    asked = begin(script, work)
    told = script.send(13, wire.STATUS)
    read = script.send(14, wire.READ_SAMPLES)
    refused = [
        script.send(15 + 0.4 * i, message)
        for i, message in enumerate((*WORK, wire.HOLD_COIL, wire.NAME_BOARD, wire.WRITE_NOTES))
    ]
    record = script.run(400)
    assert record.answer(told).number("work") == work.id
    assert record.answer(read).result is Result.DONE
    assert {record.answer(each).result for each in refused} == {Result.BUSY}
    assert record.answer(asked).result is Result.DONE


@pytest.mark.parametrize("work", WORK, ids=lambda message: message.name)
def test_all_off_ends_the_work_and_is_answered_first(work: Message) -> None:
    script = Script()
    asked = begin(script, work)
    off = script.send(13, wire.ALL_OFF)
    record = script.run(400)
    assert [answer.sequence for _, answer in record.answers] == [off, asked]
    assert record.answer(asked).result is Result.STOPPED
    assert record.answered_ms(asked) < 17
    assert record.outputs_at(14) == record.outputs_at(399) == 0
    assert record.dac[-1][1] == 0


@pytest.mark.parametrize("work", WORK, ids=lambda message: message.name)
def test_a_trip_ends_the_work_and_its_answer_says_so(work: Message) -> None:
    script = Script()
    asked = begin(script, work)
    script.stop(13, True)
    record = script.run(400)
    assert record.answer(asked).result is Result.TRIPPED
    assert record.outputs_at(13) == 0


@pytest.mark.parametrize("work", [*WORK[:5], wire.HOLD_COIL], ids=lambda message: message.name)
def test_a_dead_bus_is_told_and_leaves_nothing_energised(work: Message) -> None:
    script = Script()
    script.parts(9, False)
    asked = begin(script, work)
    later = script.send(300, wire.STATUS)
    record = script.run(400)
    assert record.answer(asked).result is Result.BUS
    assert record.outputs_at(300) & (COIL | BRANCHES) == 0
    assert record.answer(later).number("work") == 0


@pytest.mark.parametrize(("work", "latest_ms"), [(wire.LOAD_PULSE, 97), (wire.HOT_STEP, 122)])
def test_a_bus_that_dies_under_load_turns_the_load_off(work: Message, latest_ms: float) -> None:
    script = Script()
    asked = begin(script, work)
    script.parts(50, False)
    record = script.run(400)
    assert record.answer(asked).result is Result.BUS
    assert 50 < record.off_ms(BRANCHES) < latest_ms
