"""The firmware's terminal scan on this PC: what it drives, what it refuses, and that it is off afterwards."""

import pytest
from firmware_native import DRY_NC, DRY_NO, Record, Script, content

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Fault, Message, Result

REST = (0x88, 0)
T85, T86, T87, T87A, LEAD_1, T30 = 1, 2, 3, 4, 5, 9
ANSWERED_MS = 80
FULL_AT = 48
WORKS = (wire.SCAN, *(message for message in wire.MESSAGES.values() if message.energy))


def ports(record: Record) -> list[tuple[int, ...]]:
    return [values for _, what, values in record.scan if what == "ports"]


def pins(record: Record) -> list[tuple[int, ...]]:
    return [values for _, what, values in record.scan if what == "pins"]


def bare_script() -> Script:
    """Nothing on the bus, and no emergency stop: its pin is open."""
    script = Script()
    script.parts(0, False)
    script.stop(0, True)
    return script


def test_the_scan_of_a_full_build_is_at_rest_before_the_first_request() -> None:
    assert ports(Script().run(5)) == [REST]


def test_a_scan_puts_its_two_lines_on_looks_at_them_and_takes_them_off() -> None:
    script = Script()
    asked = script.send(10, wire.SCAN, source=T86, sink=T87A, look=T85)
    record = script.run(100)
    drive_86_sink_87a = T86 - 1 | (T87A - 1) << 4
    relays = 0x08
    assert ports(record) == [
        REST,
        (drive_86_sink_87a, relays | T86 - 1),
        (drive_86_sink_87a, relays | T87A - 1),
        (drive_86_sink_87a, relays | T85 - 1),
        REST,
    ]
    answer = record.answer(asked)
    told = [answer.number(name) for name in ("driven", "sunk", "source", "sink", "look", "supply")]
    assert told == [1003, 5004, 5999, 5999, 5999, 6999], "AIN0-AIN3 at gain 4, AIN1 at 5, AIN2 and AIN3 at 0"


def test_a_line_has_20_ms_to_settle() -> None:
    script = Script()
    asked = script.send(10, wire.SCAN)
    record = script.run(100)
    (on, *_, off) = [ms for ms, what, _ in record.scan if what == "ports" and ms > 9]
    assert off - on > 20
    assert record.answered_ms(asked) >= off
    assert record.answered_ms(asked) - 10 < ANSWERED_MS


def test_terminal_30_is_ground_and_needs_no_line() -> None:
    script = Script()
    script.send(10, wire.SCAN, source=T87, sink=T30)
    assert ports(script.run(100))[1][0] == T87 - 1 | 0x80


def test_both_ends_may_be_on_one_line_which_tries_them() -> None:
    script = Script()
    asked = script.send(10, wire.SCAN, source=T87, sink=T87)
    record = script.run(100)
    assert ports(record)[1][0] == T87 - 1 | (T87 - 1) << 4
    assert record.answer(asked).result is Result.DONE and ports(record)[-1] == REST


def test_without_source_nothing_is_driven() -> None:
    script = Script()
    script.send(10, wire.SCAN, source=0, sink=T85)
    assert ports(script.run(100))[1][0] == 0x08 | (T85 - 1) << 4


def test_a_scan_is_refused_while_the_coil_is_on_and_nothing_of_it_moves() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL)
    asked = script.send(20, wire.SCAN)
    record = script.run(100)
    assert record.answer(asked).result is Result.ENERGISED
    assert ports(record) == [REST]
    assert record.outputs_at(99) & 1


def test_a_scan_turns_the_dry_sources_off_first() -> None:
    script = Script()
    script.send(10, wire.HOLD_COIL, on=0, dac=0)
    script.send(20, wire.SCAN)
    record = script.run(100)
    assert record.outputs_at(19) == DRY_NO | DRY_NC
    assert record.outputs_at(21) == 0


def test_a_copy_of_a_scan_that_comes_late_turns_no_dry_source_off() -> None:
    """It was done, and a sound resting contact read as open."""
    script = Script()
    scan = frame(content(wire.SCAN, 1))
    script.raw(10, scan)
    script.raw(100, frame(content(wire.HOLD_COIL, 2, on=0)))
    script.raw(150, scan)
    record = script.run(200)
    assert [answer.result for _, answer in record.answers if answer.sequence == 1] == [Result.DONE, Result.REPEAT]
    assert record.outputs_at(199) == DRY_NO | DRY_NC
    assert record.dac[-1][1] == 1800


def test_all_off_ends_a_scan_and_takes_its_lines_off() -> None:
    script = Script()
    asked = script.send(10, wire.SCAN)
    script.send(15, wire.ALL_OFF)
    record = script.run(100)
    assert record.answer(asked).result is Result.STOPPED
    assert ports(record)[-1] == REST


def test_a_scan_without_its_parts_tells_of_the_bus() -> None:
    script = Script()
    script.parts(9, False)
    asked = script.send(10, wire.SCAN)
    assert script.run(100).answer(asked).result is Result.BUS


@pytest.mark.parametrize("message", [m for m in wire.MESSAGES.values() if m.energy])
def test_a_scan_that_could_not_be_taken_off_is_told_and_energy_waits_until_it_is(message: Message) -> None:
    """It stayed on, 5 V at 86 and the reeds closed, and the coil was switched on over it."""
    script = Script()
    scan = script.send(10, wire.SCAN)
    script.parts(20, False)
    state, refused, off = script.send(60, wire.STATUS), script.send(65, message), script.send(70, wire.ALL_OFF)
    script.parts(100, True)
    well, done, all_off = script.send(108, wire.STATUS), script.send(110, message), script.send(400, wire.ALL_OFF)
    record = script.run(500)
    assert [record.answer(one).result for one in (scan, refused, off)] == [Result.BUS] * 3
    assert record.answer(state).number("faults") == Fault.SCAN
    assert [word for ms, word in record.outputs if ms < 100] == []
    assert record.answer(well).number("faults") == 0 and ports(record)[-1] == REST
    coil_is_off = message is wire.FOLLOW_COIL
    assert record.answer(done).result is (Result.STOPPED if coil_is_off else Result.DONE)
    assert record.answer(all_off).result is Result.DONE


@pytest.mark.parametrize(
    ("values", "result"),
    [
        ({"source": T30, "sink": T30}, Result.BUILD),
        ({"source": T30, "sink": T85}, Result.BUILD),
        ({"source": T85, "sink": T86, "weak": 1}, Result.BUILD),
    ],
)
def test_a_full_build_refuses_what_it_cannot_drive(values: dict[str, int], result: Result) -> None:
    script = Script()
    asked = script.send(10, wire.SCAN, **values)
    record = script.run(100)
    assert record.answer(asked).result is result
    assert ports(record)[-1] == REST


# --- bare build ---


def test_a_board_on_whose_bus_nothing_answers_says_that_it_is_bare() -> None:
    full, bare = Script(), bare_script()
    asked = [script.send(30, wire.GREET) for script in (full, bare)]
    assert [s.run(60).answer(a).number("build") for s, a in zip((full, bare), asked, strict=True)] == [0, 1]


def test_a_bare_board_drives_two_pins_senses_and_lets_go() -> None:
    script = bare_script()
    asked = script.send(50, wire.SCAN, source=T86, sink=T30, look=T87, weak=1)
    record = script.run(200)
    assert pins(record) == [(T86, T30, 1), (0, 0, 0)]
    answer = record.answer(asked)
    assert [answer.number(name) for name in ("source", "sink", "look")] == [1600 * T86, 1600 * T30, 1600 * T87]
    assert [answer.number(name) for name in ("driven", "sunk", "supply")] == [0, 0, 0]


def test_a_bare_board_has_no_emergency_stop_that_could_trip_it() -> None:
    script = bare_script()
    asked = script.send(50, wire.STATUS)
    answer = script.run(80).answer(asked)
    assert (answer.number("trip"), answer.number("stop")) == (0, 0)


@pytest.mark.parametrize("message", [m for m in wire.MESSAGES.values() if m.energy] + [wire.SENSE_COIL])
def test_a_bare_board_refuses_what_needs_coil_supply_or_load(message: Message) -> None:
    script = bare_script()
    asked = script.send(50, message)
    record = script.run(120)
    assert record.answer(asked).result is Result.BUILD
    assert record.outputs == ()


def test_a_bare_board_reads_its_thermistor_and_no_other_slow_channel() -> None:
    script = bare_script()
    asked = [script.send(50 + 40 * channel, wire.SENSE_ANALOG, channel=channel) for channel in range(4)]
    record = script.run(300)
    results = [record.answer(a).result for a in asked]
    assert results == [Result.BUILD, Result.DONE, Result.BUILD, Result.BUILD]


def test_a_bare_board_has_no_loose_leads() -> None:
    script = bare_script()
    asked = script.send(50, wire.SCAN, source=LEAD_1, sink=T85)
    record = script.run(120)
    assert record.answer(asked).result is Result.BUILD
    assert pins(record) == []


def test_parts_that_answer_later_end_the_bare_board_before_a_pin_is_driven() -> None:
    script = bare_script()
    script.send(30, wire.STATUS)
    script.parts(40, True)
    script.stop(40, False)
    refused = script.send(50, wire.SCAN)
    greeted = script.send(100, wire.GREET)
    scanned = script.send(150, wire.SCAN)
    record = script.run(250)
    assert record.answer(refused).result is Result.BUILD
    assert record.answer(greeted).number("build") == 0
    assert record.answer(scanned).result is Result.DONE
    assert pins(record) == []


def test_parts_that_fall_silent_do_not_make_a_full_board_bare() -> None:
    script = Script()
    script.parts(10, False)
    asked = script.send(50, wire.GREET)
    script.send(60, wire.SCAN)
    record = script.run(200)
    assert record.answer(asked).number("build") == 0
    assert pins(record) == []


def test_all_off_ends_a_bare_scan_and_lets_its_pins_go() -> None:
    script = bare_script()
    asked = script.send(50, wire.SCAN)
    script.send(55, wire.ALL_OFF)
    record = script.run(200)
    assert record.answer(asked).result is Result.STOPPED
    assert pins(record)[-1] == (0, 0, 0)


def test_a_full_board_that_starts_while_its_bus_is_down_finds_its_parts_by_itself() -> None:
    """Its DAC, which stands at what it was before the reset, must not wait for a greeting."""
    script = Script(kept=0)
    script.parts(0, False)
    script.parts(100, True)
    held = script.send(350, wire.HOLD_COIL)
    record = script.run(400)
    assert [seen for _, what, seen in record.scan if what == "bare"] == [(0,)]
    assert {code for ms, code in record.dac if 100 < ms < 310} == {0}
    assert record.answer(held).result is Result.DONE


# --- a full board on whose bus nothing answers ---


def once_full() -> bytes:
    """The EEPROM of a board on whose bus a part has answered."""
    return Script().run(60).eeprom


def dead(stop_open: bool, eeprom: bytes = b"") -> Script:
    script = Script(eeprom=eeprom)
    script.parts(0, False)
    script.stop(0, stop_open)
    return script


@pytest.mark.parametrize("stop_open", [False, True], ids=["stop closed", "stop open, was full"])
def test_a_full_board_with_a_dead_bus_says_so_and_never_acts_as_a_bare_one(stop_open: bool) -> None:
    """It was taken for bare, and a scan drove two pins that on a full board switch the load's throws."""
    script = dead(stop_open, once_full() if stop_open else b"")
    greeted, state = script.send(50, wire.GREET), script.send(60, wire.STATUS)
    if stop_open:
        script.stop(90, False)
        script.send(95, wire.ACKNOWLEDGE)
    asked = [script.send(100 + 20 * i, message) for i, message in enumerate(WORKS)]
    record = script.run(400)
    assert record.answer(greeted).number("build") == 0
    assert record.answer(state).number("faults") == Fault.BUS
    assert [record.answer(one).result for one in asked] == [Result.BUS] * len(WORKS)
    assert record.outputs == () and pins(record) == []


def test_a_board_that_was_full_is_bare_again_when_it_is_told_so_and_nothing_answers() -> None:
    """One module that was once tried on a bare board made it a full one with a dead bus, for good."""
    script = dead(stop_open=True, eeprom=once_full())
    script.send(50, wire.MAKE_BARE)
    again = dead(stop_open=True, eeprom=script.run(100).eeprom)
    asked = again.send(50, wire.GREET)
    assert again.run(100).answer(asked).number("build") == 1


@pytest.mark.parametrize(("answers", "stop_open"), [(True, True), (False, False)])
def test_a_full_board_is_not_made_bare(answers: bool, stop_open: bool) -> None:
    script = dead(stop_open, once_full())
    script.parts(20, answers)
    asked = script.send(50, wire.MAKE_BARE)
    record = script.run(100)
    assert record.answer(asked).result is Result.BUILD
    assert record.eeprom[FULL_AT : FULL_AT + 3] == once_full()[FULL_AT : FULL_AT + 3]


def test_a_bare_board_keeps_no_mark_and_a_full_one_writes_it_once() -> None:
    bare, first = bare_script().run(60), Script().run(60)
    marked = [at for _, at in first.worn if FULL_AT <= at < FULL_AT + 3]
    assert sorted(marked) == [FULL_AT, FULL_AT + 1, FULL_AT + 2]
    assert not [at for _, at in bare.worn if FULL_AT <= at < FULL_AT + 3]
    assert not [at for _, at in Script(eeprom=first.eeprom).run(60).worn if FULL_AT <= at < FULL_AT + 3]


def test_an_emergency_stop_that_closes_ends_the_bare_board() -> None:
    script = bare_script()
    script.send(30, wire.STATUS)
    script.stop(100, False)
    refused, greeted = script.send(150, wire.SCAN), script.send(200, wire.GREET)
    record = script.run(300)
    assert record.answer(refused).result is Result.BUILD
    assert record.answer(greeted).number("build") == 0
    assert pins(record) == []


@pytest.mark.parametrize("ms", [2, 15, 25])
def test_parts_that_turn_up_in_a_bare_scan_are_taken_when_it_is_over(ms: float) -> None:
    """By then its pins are let go of: on a full board two of them are the inputs of 87 and 87a."""
    script = bare_script()
    script.send(10, wire.SCAN, source=T85, sink=T86)
    script.parts(10 + ms - 1, True)
    during = script.send(10 + ms, wire.GREET)
    after = script.send(400, wire.GREET)
    record = script.run(500)
    assert record.answer(during).number("build") == 1
    assert record.answer(after).number("build") == 0
    became_full = max(at for at, what, _ in record.scan if what == "bare")
    assert became_full > max(at for at, what, _ in record.scan if what == "pins")
