"""A code of the coil supply's DAC is believed when it is read back, not when the part acknowledges it; and the lamp's
pin, which lets the supply on, needs no bus to take it off."""

import pytest
from firmware_native import BRANCHES, COIL, COLD, DRY_NC, DRY_NO, Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Fault, Message, Result

CODE, ANOTHER_RANGE, POWERED_DOWN = 1 << 4, 1 << 11, 1 << 12


@pytest.mark.parametrize("bit", [CODE, ANOTHER_RANGE, POWERED_DOWN])
def test_a_zero_that_arrives_as_something_else_is_told_and_written_again_until_it_holds(bit: int) -> None:
    script = Script()
    script.send(50, wire.HOLD_COIL)
    script.disturb(90, bit)
    off, state = script.send(100, wire.ALL_OFF), script.send(150, wire.STATUS)
    script.disturb(200, 0)
    later, again = script.send(250, wire.STATUS), script.send(260, wire.ALL_OFF)
    record = script.run(300)
    assert record.answer(off).result is Result.BUS
    assert record.answer(state).number("faults") == Fault.COIL_SUPPLY
    assert record.answer(later).number("faults") == 0
    assert record.answer(again).result is Result.DONE
    assert record.dac[-1][1] == 0 and any(200 <= ms <= 207 for ms, _ in record.dac), "without being asked, every 6 ms"


def test_a_dac_at_another_code_than_asked_leaves_no_coil_on() -> None:
    script = Script()
    script.disturb(40, CODE)
    asked = [script.send(50, wire.HOLD_COIL), script.send(70, wire.STEP_COIL), script.send(120, wire.STAIRCASE)]
    record = script.run(200)
    assert [record.answer(one).result for one in asked] == [Result.BUS] * 3
    assert not any(word & COIL for _, word in record.outputs)


def test_the_lease_s_zero_is_written_until_it_is_read_back() -> None:
    script = Script()
    script.send(50, wire.HOLD_COIL, dac=1800)
    script.disturb(100, ANOTHER_RANGE)
    script.disturb(700, 0)
    record = script.run(720)
    assert {code for ms, code in record.dac if 550 < ms < 700} == {ANOTHER_RANGE}
    assert record.dac[-1][1] == 0


DRY = DRY_NO | DRY_NC


def supplied(record: Record) -> list[tuple[float, float]]:
    """From when to when the coil supply was let on."""
    return [(on, off) for (on, lit), (off, _) in zip(record.lamp, (*record.lamp[1:], (1e9, False)), strict=True) if lit]


def test_on_a_dead_bus_the_lease_holds_the_coil_supply_at_zero_and_the_dac_follows_when_the_bus_answers() -> None:
    """The DAC kept its code until then, so that terminal 86 stayed live."""
    script = Script()
    script.send(50, wire.HOLD_COIL, dac=1800)
    script.parts(100, False)
    script.parts(900, True)
    record = script.run(1000)
    ((on, off),) = supplied(record)
    assert 50 <= on <= record.on_ms(COIL) and off == record.off_ms(COIL) <= 550
    assert [code for _, code in record.dac if code] == [1800] and record.dac[-1][1] == 0
    assert 900 <= record.dac[-1][0] <= 910


@pytest.mark.parametrize("on", [0, 1])
@pytest.mark.parametrize("ended", ["stop", "off", "on-time"])
def test_what_ends_the_outputs_ends_the_coil_supply_in_that_moment_with_the_bus_dead(ended: str, on: int) -> None:
    script = Script()
    script.send(50, wire.HOLD_COIL, dac=1800, on=on, on_ms=60 if ended == "on-time" else 5000)
    script.parts(80, False)
    if ended == "stop":
        script.stop(110.4, True)
    if ended == "off":
        script.send(110.4, wire.ALL_OFF)
    record = script.run(400)
    assert record.dac[-1][1] == 1800 and record.outputs_at(399) == 0
    ((began, off),) = supplied(record)
    assert began <= 60 and 110 <= off <= 111.5


def test_the_lamp_is_lit_before_the_coil_comes_on_and_until_the_dac_is_at_zero() -> None:
    script = Script()
    script.send(50, wire.STEP_COIL, dac=1800)
    script.send(150, wire.STEP_COIL, dac=0, on=0, dry=3)
    script.send(250, wire.STAIRCASE, dac=600)
    script.send(300, wire.HOLD_COIL, dac=0, on=0)
    script.send(350, wire.HOLD_COIL, dac=900, on=0)
    script.send(380, wire.HOLD_COIL, dac=0, on=0)
    record = script.run(400)
    (stepped, after), (walked, held), (alone, off) = supplied(record)
    codes = dict((code, ms) for ms, code in record.dac)
    assert codes[1800] <= stepped and stepped + 3 <= record.on_ms(COIL)
    assert after >= next(ms for ms, code in record.dac if ms > 150 and code == 0) and after <= 180
    assert walked <= next(ms for ms, word in record.outputs if ms > 250 and word & COIL)
    assert held <= 301 and 350 <= alone <= 351 and 380 <= off <= 381
    assert record.outputs_at(260) == COIL | DRY


@pytest.mark.parametrize("lost", ["before", "never fitted"])
def test_no_load_lights_the_lamp_while_the_dac_may_hold_anything(lost: str) -> None:
    """The code of a DAC that is lost would come to terminal 86 with the load."""
    script = Script(COLD, 0, 4 if lost == "never fitted" else 0)
    if lost == "before":
        script.send(50, wire.HOLD_COIL, dac=1800)
        script.disturb(80, CODE)
    off, load = script.send(100, wire.ALL_OFF), script.send(150, wire.LOAD_PULSE)
    watch, dry = script.send(200, wire.WATCH_LOAD, throws=1, branches=0), script.send(250, wire.LOAD_PULSE, branches=0)
    hot = script.send(350, wire.HOT_STEP, on=0, dac=0)
    record = script.run(450)
    assert [record.answer(one).result for one in (off, load, watch, hot)] == [Result.BUS] * 4
    assert record.answer(dry).result is Result.DONE
    assert not any(word & BRANCHES for _, word in record.outputs)
    assert all(off <= 110 for _, off in supplied(record))


@pytest.mark.parametrize("message", [wire.LOAD_PULSE, wire.WATCH_LOAD, wire.HOT_STEP])
def test_a_load_does_not_bring_back_a_coil_supply_whose_time_was_over(message: Message) -> None:
    """Its DAC kept the code, and the load's lamp let it on again for as long as the load."""
    script = Script()
    script.send(50, wire.HOLD_COIL, dac=1800, on=0, on_ms=20)
    script.keep_alive(60, 300)
    asked = script.send(200, message, **({"on": 0, "dac": 0} if message is wire.HOT_STEP else {}))
    record = script.run(400)
    assert record.answer(asked).result is Result.DONE
    lit = record.on_ms(BRANCHES)
    assert lit >= 200 and [code for ms, code in record.dac if ms <= lit][-1] == 0


@pytest.mark.parametrize("message", [wire.STEP_COIL, wire.HOT_STEP])
@pytest.mark.parametrize("on_ms", [1, 2, 3])
def test_no_step_is_made_from_a_supply_whose_time_was_over_while_it_settled(message: Message, on_ms: int) -> None:
    """Coil and supply came on together, and the answer was DONE."""
    script = Script()
    asked = script.send(50, message, dac=1800, dry=0, on_ms=on_ms, window_ms=1)
    record = script.run(100)
    assert record.answer(asked).result is Result.STOPPED
    assert not any(word & COIL for _, word in record.outputs) and record.outputs_at(99) == 0


def test_dry_pulses_do_not_stop_the_time_of_what_is_held_and_keep_their_own_source() -> None:
    script = Script()
    script.send(50, wire.HOLD_COIL, dac=1800, on=0, on_ms=100)
    script.keep_alive(52, 1200)
    asked = [
        script.send(60 + k * 110, wire.LOAD_PULSE, branches=0, settle_ms=100, limit_ms=150, samples=1) for k in range(5)
    ]
    record = script.run(1200)
    assert {record.answer(one).result for one in asked} == {Result.DONE}
    ((on, off),) = supplied(record)
    assert off - on <= 100 and record.outputs_at(155) == record.outputs_at(250) == DRY_NO
    assert record.outputs_at(1199) == 0


def test_a_load_lights_the_lamp_and_leaves_it_as_it_was() -> None:
    script = Script()
    script.send(50, wire.LOAD_PULSE, settle_ms=5)
    script.send(100, wire.HOLD_COIL, dac=900, on=0)
    script.send(150, wire.LOAD_PULSE, settle_ms=5)
    record = script.run(200)
    (loaded, off), (held, end) = supplied(record)
    assert (loaded, off) == (record.on_ms(BRANCHES), next(ms for ms, word in record.outputs if ms > 50 and word == 0))
    assert 100 <= held <= 101 and end > 200


@pytest.mark.parametrize("on_ms", [1, 2, 3])
def test_no_load_lights_a_supply_whose_time_was_over_while_the_contacts_came_to_rest(on_ms: int) -> None:
    """The load lit it for as long as it was on itself, at a code that was not meant for now."""
    script = Script()
    script.send(50, wire.HOLD_COIL, dac=1800, on=0, on_ms=5000, dry=0)
    asked = script.send(100, wire.HOT_STEP, dac=0, on=0, dry=0, on_ms=on_ms, window_ms=20, throw=2)
    record = script.run(400)
    assert record.answer(asked).result is Result.STOPPED
    assert not any(word & BRANCHES for _, word in record.outputs) and not record.lit(105)


def test_a_hot_step_asks_nothing_of_the_bus_between_its_last_look_and_the_step() -> None:
    """The contacts could move meanwhile. The bus dies amid the look: the step is made, and nothing is read after it."""
    script = Script()
    asked = script.send(50, wire.HOT_STEP, dac=1800, on=1, dry=3, window_ms=20)
    script.parts(52, False)
    record = script.run(200)
    assert record.answer(asked).result is Result.BUS
    assert record.on_ms(BRANCHES) < record.on_ms(COIL) < 58 and record.off_ms(BRANCHES) < 100


def test_a_switch_off_whose_time_ends_in_its_window_is_none() -> None:
    """Its pins were not fed any more, and it was answered as done."""
    script = Script()
    script.contacts(1, 3)
    script.send(50, wire.HOLD_COIL, dac=0, on=0, on_ms=5000)
    asked = script.send(150, wire.STEP_COIL, dac=0, on=0, on_ms=20, window_ms=50)
    record = script.run(300)
    assert record.answer(asked).result is Result.STOPPED
