"""What the board keeps, whatever the host says: every rule of safety, in simulated time."""

import pytest
from firmware_native import COIL, DRY_NO, Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Fault, Message, Result, Trip

IN_TIME = 1.001
"""ms: the guard looks every millisecond; nothing stays on for longer than it may."""


def trip(record: Record, asked: int) -> Trip:
    return Trip(record.answer(asked).number("trip"))


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
    assert trip(record, asked) is Trip.LEASE
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
    assert trip(record, asked) is Trip.NONE


def test_a_coil_left_on_goes_off_when_its_on_time_is_over() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on_ms=300)
    script.keep_alive(20, 900)
    asked = script.send(990, wire.STATUS)
    record = script.run(1100)
    assert 309 <= record.off_ms(COIL) <= 310 + IN_TIME
    assert trip(record, asked) is Trip.ON_TIME


def test_a_coil_turned_off_in_time_trips_nothing() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on_ms=300)
    script.send(200, wire.HOLD_COIL, on=0, on_ms=300)
    asked = script.send(690, wire.STATUS)
    assert trip(script.run(1100), asked) is Trip.NONE


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
    assert trip(record, asked) is Trip.OVER_CURRENT


def test_a_surge_shorter_than_a_millisecond_or_just_below_the_limit_trips_nothing() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, limit=500)
    script.current(100, 900)
    script.current(100.9, 499)
    asked = script.send(300, wire.STATUS)
    record = script.run(400)
    assert trip(record, asked) is Trip.NONE
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
    assert trip(record, told) is Trip.EMERGENCY_STOP
    assert record.answer(told).number("stop") == 1


def test_the_first_reason_is_kept_until_it_is_acknowledged() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    script.stop(700, True)
    asked = script.send(720, wire.STATUS)
    assert trip(script.run(800), asked) is Trip.LEASE


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
    assert trip(record, asked) is Trip.NONE


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
    assert trip(record, asked) is Trip.EMERGENCY_STOP
