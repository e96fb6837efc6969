"""Load is on for as long as the limits allow and no longer, whatever happens; its account outlives a power cut."""

import pytest
from firmware_native import BRANCHES, COIL, DRY_NC, DRY_NO, THROW_NC, THROW_NO, Record, Script
from hypothesis import given, settings
from hypothesis import strategies as st

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Reset, Result, Trip

LOAD = BRANCHES | THROW_NO | THROW_NC
IN_TIME = 1.001
"""ms: the guard looks every millisecond; nothing stays on for longer than it may."""


@pytest.mark.parametrize("limit_ms", [1, 20, 500])
def test_a_load_pulse_never_outlasts_its_limit(limit_ms: int) -> None:
    script = Script()
    asked = script.send(10.3, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=limit_ms, branches=15)
    script.keep_alive(20, 900)
    record = script.run(1000)
    on = record.off_ms(BRANCHES) - record.on_ms(BRANCHES)
    assert on <= limit_ms
    assert record.answer(asked).result is (Result.DONE if limit_ms == 500 else Result.STOPPED)


def test_a_pulse_cut_short_leaves_the_coil_and_returns_the_dry_sources() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.send(50, wire.LOAD_PULSE, settle_ms=100, limit_ms=30)
    record = script.run(200)
    assert record.outputs_at(70) & (DRY_NO | DRY_NC) == 0
    assert record.outputs_at(100) == COIL | DRY_NO | DRY_NC


def test_a_host_that_dies_in_a_load_pulse_leaves_no_load() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.send(400, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=500)
    record = script.run(2000)
    assert record.outputs_at(1999) == 0
    assert record.off_ms(BRANCHES) <= 900


@pytest.mark.parametrize("limit_ms", [1, 3, 20, 150])
def test_a_hot_step_is_never_loaded_for_longer_than_its_limit_and_a_load_that_ended_does_not_come_back(
    limit_ms: int,
) -> None:
    script = Script()
    asked = script.send(10.3, wire.HOT_STEP, window_ms=100, limit_ms=limit_ms)
    record = script.run(400)
    times = [ms for ms, word in record.outputs if word & LOAD]
    assert record.off_ms(LOAD) - times[0] <= limit_ms
    assert sum(ms == record.on_ms(LOAD) for ms, _ in record.outputs) == 1
    assert record.answer(asked).result is (Result.DONE if limit_ms == 150 else Result.STOPPED)
    assert record.outputs_at(399) & LOAD == 0


@pytest.mark.parametrize(("trouble", "reason"), [("stop", Trip.EMERGENCY_STOP), ("current", Trip.OVER_CURRENT)])
@pytest.mark.parametrize("ms", [3, 5, 20, 60])
def test_a_trip_at_any_moment_of_a_hot_step_turns_everything_off(trouble: str, reason: Trip, ms: float) -> None:
    script = Script()
    asked = script.send(10, wire.HOT_STEP, window_ms=100, limit_ms=400, limit=500)
    if trouble == "stop":
        script.stop(10 + ms, True)
    else:
        script.current(10 + ms, 600)
    told = script.send(150, wire.STATUS)
    record = script.run(400)
    assert record.answer(asked).result is Result.TRIPPED
    assert Trip(record.answer(told).number("trip")) is reason
    assert record.outputs_at(max(10 + ms, record.on_ms(COIL) if trouble == "current" else 0) + 1.2) == 0
    assert record.outputs_at(399) == 0


def test_a_host_that_dies_before_or_in_a_hot_step_leaves_no_load_and_no_coil() -> None:
    script = Script()
    script.send(10, wire.HOT_STEP, window_ms=200, limit_ms=500)
    record = script.run(2000)
    assert record.off_ms(BRANCHES) <= 300
    assert record.off_ms(COIL) <= 510 + IN_TIME
    assert record.outputs_at(1999) == 0


def test_a_hot_step_that_could_exceed_the_duty_is_refused_and_moves_nothing() -> None:
    script = Script()
    for i in range(4):
        script.send(10 + 600 * i, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=245)
    refused = script.send(3000, wire.HOT_STEP, window_ms=100, limit_ms=300)
    record = script.run(3400)
    assert record.answer(refused).result is Result.DUTY
    assert not any(word & (COIL | LOAD) for ms, word in record.outputs if ms > 2900)


def loaded_ms(record: Record, start: float, end: float) -> float:
    """How long any branch was on within this time."""
    total = 0.0
    for (on, word), (off, _) in zip(record.outputs, (*record.outputs[1:], (end, 0)), strict=True):
        if word & BRANCHES:
            total += max(0.0, min(off, end) - max(on, start))
    return total


def test_a_pulse_that_could_exceed_the_duty_is_refused_until_time_has_passed() -> None:
    script = Script()
    first = [script.send(10 + 600 * i, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=245) for i in range(4)]
    refused = script.send(3000, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=500)
    later = script.send(10700, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=245)
    record = script.run(11500)
    assert {record.answer(asked).result for asked in first} <= {Result.DONE, Result.STOPPED}
    assert record.answer(refused).result is Result.DUTY
    assert record.answer(later).result is not Result.DUTY


@pytest.mark.parametrize(("rest_ms", "result"), [(50, Result.DUTY), (1050, Result.DONE)])
def test_pulses_close_upon_each_other_are_500_ms_at_most_for_the_hardware_cuts_more(
    rest_ms: int, result: Result
) -> None:
    """A second pulse of 500 ms began at once, and U8 may cut it after 0.4 s (tests/hardware)."""
    script = Script()
    script.send(10, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=300)
    again = script.send(310 + rest_ms, wire.LOAD_PULSE, settle_ms=200, samples=12, limit_ms=300)
    record = script.run(2000)
    assert record.answer(again).result is result


@pytest.mark.parametrize("cause", [Reset.EXTERNAL, Reset.BROWN_OUT, Reset.WATCHDOG, Reset(0)])
def test_after_a_reset_that_lost_the_account_there_is_no_load_for_what_could_have_been_on_before(cause: Reset) -> None:
    script = Script(cause=cause)
    refused = script.send(9000, wire.LOAD_PULSE, limit_ms=20)
    later = script.send(10300, wire.LOAD_PULSE, limit_ms=500, settle_ms=200)
    record = script.run(11000)
    assert record.answer(refused).result is Result.DUTY
    assert record.answer(later).result is not Result.DUTY


def test_a_board_that_was_cut_off_warm_has_no_load_for_ten_seconds_and_a_cold_one_has_at_once() -> None:
    """After power-on its RAM knows nothing; plugged out and in again, a board gave a second of load each time."""
    script = Script()
    loaded = script.send(10, wire.LOAD_PULSE, limit_ms=300)
    warm, cold = script.run(200).eeprom, script.run(11_000).eeprom
    assert script.run(200).answer(loaded).result is Result.DONE
    found = []
    for memory in (warm, cold, b"\xff" * 53):
        again = Script(eeprom=memory)
        at_once, later = (again.send(ms, wire.LOAD_PULSE, limit_ms=100) for ms in (100, 10_300))
        record = again.run(10_500)
        found.append((record.answer(at_once).result, record.answer(later).result))
    assert found == [(Result.DUTY, Result.DONE), (Result.DONE, Result.DONE), (Result.DUTY, Result.DONE)]


def test_the_memory_of_it_is_written_twice_for_all_loads_in_a_row() -> None:
    script = Script()
    for i in range(10):
        script.send(10 + 1500 * i, wire.LOAD_PULSE, limit_ms=100)
    assert [at for _, at in script.run(30_000).worn if at == 52] == [52, 52]


def test_a_pulse_without_load_costs_no_duty() -> None:
    script = Script()
    asked = [script.send(10 + 200 * i, wire.LOAD_PULSE, branches=0, settle_ms=100, limit_ms=500) for i in range(20)]
    record = script.run(5000)
    assert {record.answer(each).result for each in asked} == {Result.DONE}


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 500), st.integers(1, 200), st.integers(550, 2500)), min_size=20, max_size=40))
def test_no_ten_seconds_ever_hold_more_than_a_second_of_load(pulses: list[tuple[int, int, int]]) -> None:
    script = Script()
    ms = 10.0
    for turn, (limit_ms, settle_ms, pause_ms) in enumerate(pulses):
        message = wire.HOT_STEP if turn % 3 == 0 else wire.LOAD_PULSE
        script.send(ms, message, settle_ms=settle_ms, window_ms=settle_ms, samples=12, limit_ms=limit_ms)
        ms += pause_ms
    record = script.run(ms)
    starts = [at for at, word in record.outputs if word & BRANCHES]
    assert starts
    assert all(loaded_ms(record, start, start + 10_000) <= 1000 for start in starts)
