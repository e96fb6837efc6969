"""The firmware on an evening build: how it knows, what it refuses, and that K1 carries nothing before it rests."""

import pytest
from firmware_native import BRANCHES, COIL, DIODE, THROW_NC, THROW_NO, Fitted, Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Build, Fault, Message, Result, Trip

FED = 4095
LEAD_MS = 25
BRANCH_10A = 4
T85, T86, T87 = 1, 2, 3
LOOK = {"source": T86, "sink": T85}
ON = {"dac": FED}
ENERGY = [message for message in wire.MESSAGES.values() if message.energy]
POWERED = COIL | BRANCHES | THROW_NO | THROW_NC


def evening(fits: Fitted = Fitted.EVENING) -> Script:
    return Script(fits=fits)


def powered(record: Record) -> list[tuple[float, int]]:
    """When coil or load were on, and the outputs then."""
    return [(ms, word) for ms, word in record.outputs if word & POWERED]


def greeted(script: Script, ms: float = 10) -> tuple[int, int]:
    """Build and faults."""
    who, state = script.send(ms, wire.GREET), script.send(ms + 1, wire.STATUS)
    record = script.run(ms + 20)
    return record.answer(who).number("build"), record.answer(state).number("faults")


@pytest.mark.parametrize(
    ("fits", "build", "faults"),
    [
        (Fitted.FULL, Build.FULL, 0),
        (Fitted.EVENING, Build.EVENING, 0),
        (Fitted.BOTH, Build.FULL, Fault.BUS),
        (Fitted.NO_INA, Build.EVENING, Fault.BUS),
    ],
)
def test_the_build_follows_from_the_addresses_that_answer(fits: Fitted, build: Build, faults: int) -> None:
    assert greeted(evening(fits)) == (build, faults)


def test_a_nano_of_an_evening_build_is_never_bare() -> None:
    kept = evening().run(20).eeprom
    dead = Script(eeprom=kept, fits=Fitted.EVENING)
    dead.parts(0, False)
    dead.stop(0, True)
    assert greeted(dead) == (Build.FULL, Fault.BUS)


def test_an_evening_build_that_starts_on_a_dead_bus_finds_itself_when_the_bus_is_back() -> None:
    script = evening()
    script.parts(0, False)
    script.parts(50, True)
    assert greeted(script, 400) == (Build.EVENING, 0)


@pytest.mark.parametrize("message", ENERGY)
@pytest.mark.parametrize("fits", [Fitted.BOTH, Fitted.NO_INA])
def test_parts_of_two_builds_and_a_silent_converter_energise_nothing(message: Message, fits: Fitted) -> None:
    script = evening(fits)
    asked = script.send(10, message, **(ON if "dac" in [field.name for field in message.request] else {}))
    look = script.send(300, wire.SCAN, **LOOK)
    script.keep_alive(10, 500)
    record = script.run(600)
    assert [record.answer(one).result for one in (asked, look)] == [Result.BUS] * 2
    assert powered(record) == []


@pytest.mark.parametrize("message", ENERGY)
@pytest.mark.parametrize("fits", [Fitted.BOTH, Fitted.NO_INA])
def test_the_parts_are_asked_again_before_each_order(message: Message, fits: Fitted) -> None:
    script = evening()
    first = script.send(10, wire.HOLD_COIL, on=0, **ON)
    script.fits(100, fits)
    asked = script.send(110, message, **(ON if "dac" in [field.name for field in message.request] else {}))
    record = script.run(400)
    assert record.answer(first).result is Result.DONE
    assert record.answer(asked).result is Result.BUS
    assert powered(record) == []


def test_what_answered_once_beside_the_evening_build_ends_it_until_the_next_start() -> None:
    script = evening()
    script.fits(100, Fitted.BOTH)
    script.send(110, wire.GREET)
    script.fits(200, Fitted.EVENING)
    asked = script.send(210, wire.HOLD_COIL, **ON)
    assert script.run(400).answer(asked).result is Result.BUS


@pytest.mark.parametrize(
    ("message", "values"),
    [
        (wire.HOLD_COIL, {"dac": 1800}),
        (wire.HOLD_COIL, {"dac": 0}),
        (wire.HOLD_COIL, {"diode": 1, **ON}),
        (wire.STEP_COIL, {"dac": 4094}),
        (wire.STEP_COIL, {"diode": 1, **ON}),
        (wire.HOT_STEP, {"branches": 8, **ON}),
        (wire.HOT_STEP, {"branches": BRANCH_10A, "dac": 1800}),
        (wire.LOAD_PULSE, {"branches": 1}),
        (wire.LOAD_PULSE, {"branches": 12}),
        (wire.STAIRCASE, {"dac": 0}),
        (wire.WATCH_LOAD, {"throws": 1, "branches": 0}),
        (wire.WATCH_LOAD, {"throws": 0, "branches": BRANCH_10A}),
        (wire.WATCH_LOAD, {"throws": 1, "branches": 1}),
        (wire.SCAN, {"source": T87, "sink": T85}),
        (wire.SCAN, {"source": T85, "sink": T86}),
        (wire.SCAN, {"look": T87, **LOOK}),
    ],
)
def test_what_an_evening_build_has_not_is_refused(message: Message, values: dict[str, int]) -> None:
    script = evening()
    asked = script.send(10, message, **values)
    record = script.run(200)
    assert record.answer(asked).result is Result.BUILD
    assert [word for _, word in record.outputs if word] == []


@pytest.mark.parametrize("message", [wire.HOLD_COIL, wire.STEP_COIL, wire.HOT_STEP, wire.LOAD_PULSE])
def test_the_relay_that_feeds_it_all_rests_before_coil_or_load_come_on(message: Message) -> None:
    script = evening()
    values = ON if message is not wire.LOAD_PULSE else {}
    asked = script.send(10, message, branches=BRANCH_10A, **values)
    record = script.run(300)
    assert record.answer(asked).result is Result.DONE
    lit = next(ms for ms, lit in record.lamp if lit)
    first = powered(record)[0][0]
    assert LEAD_MS <= first - lit < 2 * LEAD_MS


def test_a_load_of_its_own_lets_the_relay_go_after_it() -> None:
    script = evening()
    script.send(10, wire.LOAD_PULSE, branches=BRANCH_10A, limit_ms=100)
    record = script.run(300)
    dark = [ms for ms, lit in record.lamp if not lit][-1]
    assert record.off_ms(THROW_NO) <= dark < record.off_ms(THROW_NO) + 5


def test_a_coil_that_is_held_keeps_the_relay_between_pulses() -> None:
    script = evening()
    script.send(10, wire.HOLD_COIL, **ON)
    script.send(100, wire.LOAD_PULSE, branches=BRANCH_10A, limit_ms=100)
    script.keep_alive(10, 300)
    record = script.run(300)
    assert [lit for _, lit in record.lamp] == [False, True]
    assert record.on_ms(THROW_NO) - 100 < 5


def test_a_held_coil_whose_time_is_over_before_the_relay_rests_never_comes_on() -> None:
    script = evening()
    asked = script.send(10, wire.HOLD_COIL, on_ms=10, **ON)
    record = script.run(200)
    assert record.answer(asked).result is Result.STOPPED
    assert powered(record) == [] and not record.lit(199)


def test_a_look_puts_a_few_ma_through_the_coil_with_the_relay_open() -> None:
    script = evening()
    script.send(10, wire.HOLD_COIL, on=0, **ON)
    asked = script.send(100, wire.SCAN, **LOOK)
    record = script.run(300)
    answer = record.answer(asked)
    assert (answer.number("source"), answer.number("driven")) == (10800, 6200), "the INA226's bus and shunt"
    on, off = record.on_ms(DIODE), record.off_ms(DIODE)
    dark = next(ms for ms, lit in record.lamp if ms >= 100 and not lit)
    assert on - dark >= 30 and off - on > 20
    assert record.outputs_at(on) == COIL | DIODE and not record.lit((on + off) / 2)
    assert record.outputs_at(299) == 0


def test_a_look_into_a_relay_that_is_welded_ends_within_a_millisecond_or_two() -> None:
    script = evening()
    asked, state = script.send(10, wire.SCAN, **LOOK), script.send(150, wire.STATUS)
    script.current(0, 135)
    record = script.run(200)
    assert record.answer(asked).result is Result.TRIPPED
    assert record.answer(state).number("trip") == Trip.OVER_CURRENT
    assert record.off_ms(DIODE) - record.on_ms(DIODE) < 1.3


def test_the_current_of_the_look_itself_trips_nothing() -> None:
    """5.25 V behind a Schottky diode, 220 ohm and a shorted coil are 23 mA, 77 counts."""
    script = evening()
    asked = script.send(10, wire.SCAN, **LOOK)
    script.current(0, 77)
    assert script.run(200).answer(asked).result is Result.DONE


def test_a_coil_that_is_followed_says_its_last_volts_and_which_edge_ended_it() -> None:
    script = evening()
    script.send(10, wire.HOLD_COIL, **ON)
    script.contacts(10, 2)
    asked = script.send(100, wire.FOLLOW_COIL, watch=3, wanted=1, window_ms=300)
    script.contacts(200, 0)
    script.contacts(203, 1)
    edges = script.send(300, wire.READ_EDGES)
    script.keep_alive(10, 400)
    record = script.run(400)
    answer = record.answer(asked)
    assert answer.result is Result.DONE and answer.number("contacts") == 1 and answer.number("restless") == 0
    assert answer.numbers("bus") == (10800,) * 8 and answer.numbers("shunt") == (6200,) * 8
    assert 0 <= answer.number("last_ms") - 98 <= 8, "two conversions after the first edge"
    assert 7 * 2.2 < answer.number("span_ms") < 30
    assert 10 <= record.answered_ms(asked) - 203 <= 17, "once the contacts have rested for 10 ms"
    ticks = [edge & (1 << 30) - 1 for edge in record.answer(edges).numbers("edges")]
    assert [round(tick / 2000) for tick in ticks] == pytest.approx([98, 101], abs=4)
    assert record.answer(edges).number("log") == answer.number("log")


def test_a_coil_that_is_followed_in_vain_ends_with_its_window() -> None:
    script = evening()
    script.send(10, wire.HOLD_COIL, on_ms=150, **ON)
    asked = script.send(100, wire.FOLLOW_COIL, watch=1, wanted=1, window_ms=200, on_ms=400)
    script.keep_alive(10, 700)
    record = script.run(700)
    assert record.answer(asked).number("contacts") == 0
    assert 300 <= record.answered_ms(asked) <= 320
    assert record.off_ms(COIL) - 100 == pytest.approx(400, abs=5), "its on-time began again"


def test_a_coil_that_is_off_cannot_be_followed() -> None:
    script = evening()
    asked = script.send(10, wire.FOLLOW_COIL)
    assert script.run(50).answer(asked).result is Result.STOPPED


def test_a_bench_without_the_evening_converter_follows_as_well() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    asked = script.send(100, wire.FOLLOW_COIL, watch=1, wanted=0)
    assert script.run(200).answer(asked).result is Result.DONE


def test_the_lamp_is_lit_whenever_the_coil_is_on_but_in_a_look() -> None:
    script = evening()
    script.send(10, wire.STEP_COIL, **ON)
    script.send(100, wire.STEP_COIL, on=0, dac=0)
    script.send(200, wire.SCAN, **LOOK)
    record = script.run(400)
    for ms, word in record.outputs:
        assert not word & COIL or record.lit(ms) or word == COIL | DIODE


def test_a_host_that_watches_the_load_without_a_pause_loads_a_second_in_ten() -> None:
    """0.96 s of 10 A, then nothing until 10 s have passed: its resistor has to bear a tenth of it for good."""
    script = evening()
    script.keep_alive(10, 12_000)
    asked = [
        script.send(at, wire.WATCH_LOAD, throws=1, branches=BRANCH_10A, watch_ms=950) for at in range(20, 9000, 1200)
    ]
    record = script.run(12_000)
    results = [record.answer(one).result for one in asked]
    assert results[0] is Result.DONE and set(results[1:]) == {Result.DUTY}
    ends = [*record.outputs[1:], (12_000.0, 0)]
    on_ms = sum(
        after[0] - now[0] for now, after in zip(record.outputs, ends, strict=True) if now[1] & (THROW_NO | THROW_NC)
    )
    assert 900 < on_ms <= 1000
