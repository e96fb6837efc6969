"""What the board keeps, whatever the host says: every rule of safety, in simulated time."""

import pytest
from firmware_native import BRANCHES, COIL, DRY_NC, DRY_NO, THROW_NC, THROW_NO, Record, Script
from hypothesis import given, settings
from hypothesis import strategies as st

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Fault, Message, Reset, Result, TripCode

IN_TIME = 1.001
"""ms: the guard looks every millisecond; nothing stays on for longer than it may."""


def trip(record: Record, asked: int) -> TripCode:
    return TripCode(record.answer(asked).number("trip"))


def test_at_the_start_nothing_is_on_and_the_dac_and_its_eeprom_are_zero() -> None:
    record = Script(kept=0x800).run(50)
    assert record.outputs == ()
    assert record.dac == ((pytest.approx(0.07, abs=0.1), 0),)
    assert record.kept == (0,)


def test_a_dac_eeprom_that_is_zero_already_is_not_worn() -> None:
    assert Script(kept=0).run(50).kept == ()


def test_a_coil_without_a_host_goes_off_after_the_lease() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    asked = script.send(700, wire.STATUS)
    record = script.run(800)
    assert 504 <= record.off_ms(COIL) <= 510
    assert trip(record, asked) is TripCode.LEASE
    assert record.outputs_at(600) == 0


@pytest.mark.parametrize("message", [wire.HOLD_COIL, wire.STEP_COIL, wire.HOT_STEP, wire.LOAD_PULSE, wire.STAIRCASE])
@pytest.mark.parametrize("phase", [0.0, 0.35, 0.7])
def test_nothing_is_on_500_ms_after_the_last_request(message: Message, phase: float) -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.send(200 + phase, message, window_ms=200, settle_ms=200, limit_ms=500, samples=12, dwell_ms=100, count=9)
    record = script.run(1500)
    assert record.on_ms(COIL) < 200
    assert record.outputs_at(700 + phase) == 0
    assert record.dac[-1][1] == 0
    assert record.dac[-1][0] < 702


@pytest.mark.parametrize("message", [wire.STATUS, wire.GREET, wire.READ_EDGES, wire.ACKNOWLEDGE])
def test_any_request_that_is_admitted_renews_the_lease(message: Message) -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    for ms in (400, 800, 1200):
        script.send(ms, message)
    record = script.run(2000)
    assert 1694 <= record.off_ms(COIL) <= 1700


ECHO = bytes([7, wire.STATUS.id | 0x80, Result.DONE])
NOT_ADMITTED = {
    "unknown": bytes([99, 0x7F]),
    "cut short": bytes([99, wire.READ_EDGES.id]),
    "out of range": bytes([99, wire.SENSE_ANALOG.id, 4]),
    "an answer": ECHO,
    "an answer to a stranger": bytes([99, 0xFF, Result.UNKNOWN]),
}


@pytest.mark.parametrize("strange", NOT_ADMITTED.values(), ids=NOT_ADMITTED.keys())
def test_what_is_no_request_renews_no_lease(strange: bytes) -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    for ms in (200, 400, 450):
        script.raw(ms, frame(strange))
    assert 504 <= script.run(2000).off_ms(COIL) <= 510


def test_a_line_that_echoes_keeps_nothing_on_and_gets_no_answer_to_an_answer() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    for ms in range(20, 1500, 20):
        script.raw(ms, frame(ECHO))
    record = script.run(1500)
    assert 504 <= record.off_ms(COIL) <= 510
    assert len(record.contents) == 1


def test_a_damaged_request_renews_no_lease() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.raw(400, frame(bytes([99, wire.STATUS.id]))[:-2] + b"\xc1\x00")
    assert 504 <= script.run(2000).off_ms(COIL) <= 510


def test_dry_sources_alone_go_off_with_the_lease_but_trip_nothing() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on=0)
    asked = script.send(700, wire.STATUS)
    record = script.run(800)
    assert record.off_ms(DRY_NO) <= 510 + IN_TIME
    assert trip(record, asked) is TripCode.NONE


def test_a_coil_left_on_goes_off_when_its_on_time_is_over() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on_ms=300)
    script.keep_alive(20, 900)
    asked = script.send(990, wire.STATUS)
    record = script.run(1100)
    assert 309 <= record.off_ms(COIL) <= 310 + IN_TIME
    assert trip(record, asked) is TripCode.ON_TIME


def test_a_coil_turned_off_in_time_trips_nothing() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on_ms=300)
    script.send(200, wire.HOLD_COIL, on=0, on_ms=300)
    asked = script.send(690, wire.STATUS)
    assert trip(script.run(1100), asked) is TripCode.NONE


def test_the_on_time_counts_anew_from_each_request() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on_ms=300)
    script.send(250, wire.HOLD_COIL, on_ms=300)
    assert 549 <= script.run(1100).off_ms(COIL) <= 550 + IN_TIME


def test_too_much_current_for_a_millisecond_is_off_within_two_samples_more() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, limit=500)
    script.current(100, 500)
    asked = script.send(150, wire.STATUS)
    record = script.run(200)
    assert 100.9 <= record.off_ms(COIL) <= 101.1
    assert trip(record, asked) is TripCode.OVER_CURRENT


def test_a_surge_shorter_than_a_millisecond_or_just_below_the_limit_trips_nothing() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, limit=500)
    script.current(100, 900)
    script.current(100.9, 499)
    asked = script.send(300, wire.STATUS)
    record = script.run(400)
    assert trip(record, asked) is TripCode.NONE
    assert record.outputs_at(399) & COIL


def test_the_emergency_stop_turns_off_at_once_and_stays_latched() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.stop(50.37, True)
    refused = script.send(60, wire.ACKNOWLEDGE)
    driven = script.send(70, wire.HOLD_COIL)
    script.stop(80, False)
    still = script.send(90, wire.HOLD_COIL)
    script.send(100, wire.ACKNOWLEDGE)
    again = script.send(110, wire.HOLD_COIL)
    record = script.run(200)
    assert next(ms for ms, word in record.outputs if word == 0) == 50.37
    assert record.outputs_at(109) == 0
    assert [record.answer(asked).result for asked in (refused, driven, still)] == [Result.TRIPPED] * 3
    assert record.answer(again).result is Result.DONE


def test_a_stop_that_is_open_at_the_start_lets_nothing_on() -> None:
    script = Script()
    script.stop(0, True)
    asked = [script.send(10, wire.HOLD_COIL), script.send(20, wire.STEP_COIL), script.send(30, wire.LOAD_PULSE)]
    told = script.send(40, wire.STATUS)
    record = script.run(100)
    assert record.outputs == ()
    assert {record.answer(each).result for each in asked} == {Result.TRIPPED}
    assert trip(record, told) is TripCode.EMERGENCY_STOP
    assert record.answer(told).number("stop") == 1


def test_the_first_reason_is_kept_until_it_is_acknowledged() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.stop(700, True)
    asked = script.send(720, wire.STATUS)
    assert trip(script.run(800), asked) is TripCode.LEASE


def test_while_tripped_the_board_still_measures_what_moves_no_energy() -> None:
    script = Script()
    script.stop(5, True)
    asked = [script.send(10, wire.SENSE_COIL), script.send(50, wire.SENSE_ANALOG), script.send(90, wire.READ_EDGES)]
    record = script.run(200)
    assert {record.answer(each).result for each in asked} == {Result.DONE}


def test_after_a_trip_the_coil_supply_goes_to_zero_too() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=3000)
    record = script.run(700)
    assert record.dac[-1][1] == 0
    assert record.dac[-1][0] - record.off_ms(COIL) < 2


def test_the_coil_supply_goes_to_zero_with_the_lease_though_nothing_was_on() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=4095, on=0)
    asked = script.send(900, wire.STATUS)
    record = script.run(1000)
    assert [code for _, code in record.dac[-2:]] == [4095, 0]
    assert record.dac[-1][0] < 512
    assert trip(record, asked) is TripCode.NONE


@pytest.mark.parametrize("cause", ["trip", "lease"])
def test_the_coil_supply_is_told_to_rest_until_it_acknowledges_and_the_host_hears_of_it(cause: str) -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=4095, on=int(cause == "trip"))
    script.parts(50, False)
    if cause == "trip":
        script.stop(60, True)
    asked = script.send(700, wire.STATUS)
    off = script.send(800, wire.ALL_OFF)
    script.parts(1000, True)
    again = script.send(1100, wire.STATUS)
    done = script.send(1200, wire.ALL_OFF)
    record = script.run(1300)
    assert record.answer(asked).number("faults") == Fault.COIL_SUPPLY
    assert record.answer(off).result is Result.BUS
    assert record.dac[-1][1] == 0
    assert 1000 <= next(ms for ms, code in record.dac if ms > 50 and code == 0) <= 1010
    assert record.answer(again).number("faults") == 0
    assert record.answer(done).result is Result.DONE


@pytest.mark.parametrize("place", range(4))
def test_the_converter_of_the_coil_supply_may_have_any_of_its_addresses(place: int) -> None:
    script = Script(dac_at=place)
    asked, greeted = script.send(10, wire.HOLD_COIL, dac=1234), script.send(20, wire.GREET)
    record = script.run(700)
    assert record.answer(asked).result is Result.DONE
    assert record.answer(greeted).number("dac") == place + 1
    assert [code for _, code in record.dac][:3] == [0, 1234, 0]


def test_a_coil_supply_that_never_answered_is_lost_not_missing() -> None:
    """It may hold what it held before the start; the board said that there was no fault."""
    script = Script(dac_at=4)
    held = script.send(10, wire.HOLD_COIL)
    off, asked = script.send(20, wire.ALL_OFF), script.send(700, wire.STATUS)
    record = script.run(800)
    assert record.answer(held).result is Result.BUS
    assert record.answer(off).result is Result.BUS
    assert record.answer(asked).number("faults") == Fault.COIL_SUPPLY
    assert not any(word & COIL for _, word in record.outputs)


def test_safety_does_not_wait_for_the_bus() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, dac=3000)
    script.parts(50, False)
    script.stop(60, True)
    asked = script.send(80, wire.STATUS)
    record = script.run(200)
    assert record.off_ms(COIL) == 60
    assert trip(record, asked) is TripCode.EMERGENCY_STOP


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


LOAD = BRANCHES | THROW_NO | THROW_NC


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


@pytest.mark.parametrize(("trouble", "reason"), [("stop", TripCode.EMERGENCY_STOP), ("current", TripCode.OVER_CURRENT)])
@pytest.mark.parametrize("ms", [3, 5, 20, 60])
def test_a_trip_at_any_moment_of_a_hot_step_turns_everything_off(trouble: str, reason: TripCode, ms: float) -> None:
    script = Script()
    asked = script.send(10, wire.HOT_STEP, window_ms=100, limit_ms=400, limit=500)
    if trouble == "stop":
        script.stop(10 + ms, True)
    else:
        script.current(10 + ms, 600)
    told = script.send(150, wire.STATUS)
    record = script.run(400)
    assert record.answer(asked).result is Result.TRIPPED
    assert trip(record, told) is reason
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
