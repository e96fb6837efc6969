"""What the board says of a pin that goes to and fro: noise is told from a contact that bounces or chatters."""

import pytest
from firmware_native import Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message

NO, NC = 1, 2
NOISE_MS, SPRING_MS = 0.04, 0.3
"""From edge to edge: noise at 12 kHz, and the spring of a contact that swings at 1.7 kHz."""
FED_MS = 10.0


def toggled(script: Script, pin: int, from_ms: float, to_ms: float, gap_ms: float) -> None:
    """The pin closes and opens from then to then; the other throw stays closed, as the last edge leaves this one."""
    for i in range(int((to_ms - from_ms) / gap_ms)):
        script.contacts(from_ms + i * gap_ms, NO | NC if i % 2 else NO | NC & ~pin if pin == NC else NC)


def fed() -> Script:
    script = Script()
    script.send(FED_MS, wire.HOLD_COIL, on=0, dac=0)
    return script


@pytest.mark.parametrize("pin", [NO, NC])
@pytest.mark.parametrize(("gap_ms", "restless"), [(NOISE_MS, True), (SPRING_MS, False)])
def test_a_status_tells_noise_and_not_a_spring(pin: int, gap_ms: float, restless: bool) -> None:
    script = fed()
    toggled(script, pin, 15, 40, gap_ms)
    in_it, after = script.send(20, wire.STATUS), script.send(60, wire.STATUS)
    record = script.run(80)
    assert record.answer(in_it).number("restless") == (pin if restless else 0)
    assert record.answer(after).number("restless") == 0


def test_what_no_source_feeds_is_no_contact() -> None:
    script = Script()
    toggled(script, NO, 15, 40, NOISE_MS)
    asked = script.send(20, wire.STATUS)
    answer = script.run(80).answer(asked)
    assert (answer.number("contacts"), answer.number("restless")) == (0, 0)


def stepped(message: Message, pin: int, from_ms: float, to_ms: float, gap_ms: float) -> tuple[Record, int]:
    script = fed()
    asked = script.send(20, message, window_ms=30, dwell_ms=30, limit_ms=100, throw=2)
    toggled(script, pin, from_ms, to_ms, gap_ms)
    return script.run(200), asked


@pytest.mark.parametrize("message", [wire.STEP_COIL, wire.HOT_STEP])
@pytest.mark.parametrize("pin", [NO, NC])
@pytest.mark.parametrize(("from_ms", "to_ms"), [(15, 150), (35, 45), (50, 60)], ids=["always", "amid", "at the end"])
def test_a_step_tells_noise_before_in_and_behind_its_window(
    message: Message, pin: int, from_ms: float, to_ms: float
) -> None:
    """The log was full of it, and a contact that closed meanwhile was said to have stayed open."""
    record, asked = stepped(message, pin, from_ms, to_ms, NOISE_MS)
    assert record.answer(asked).number("restless") == pin


def test_noise_that_is_over_before_the_step_spoils_nothing() -> None:
    record, asked = stepped(wire.STEP_COIL, NO, 15, 30, NOISE_MS)
    assert (record.answer(asked).number("restless"), record.answer(asked).number("edges")) == (0, 0)


def test_a_contact_that_chatters_may_fill_the_log() -> None:
    record, asked = stepped(wire.STEP_COIL, NO, 30, 55, SPRING_MS)
    answer = record.answer(asked)
    assert (answer.number("edges"), answer.number("edges_lost"), answer.number("restless")) == (40, 1, 0)


@pytest.mark.parametrize(("to_ms", "restless", "at_ms"), [(150, NO, 30), (65, 0, 15)])
def test_a_walk_waits_for_the_end_of_a_bounce_and_tells_noise(to_ms: float, restless: int, at_ms: float) -> None:
    """A pin that noise closed ended a walk, and the part had a pull-in that it does not have."""
    record, asked = stepped(wire.STAIRCASE, NO, 49, to_ms, NOISE_MS)
    assert record.answer(asked).number("restless") == restless
    assert record.answered_ms(asked) - 50 == pytest.approx(at_ms, abs=4)
