"""A pin that does not come to rest: reported by the board, waited for, and no energy meanwhile."""

import pytest
from firmware_native import BRANCHES, COIL, THROW_NC, THROW_NO, Record, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message, Result

NO, NC = 1, 2
NOISE_MS = 0.04
"""From edge to edge: noise at 12 kHz."""
REST_MS = 10
"""Between two edges of a bounce are 1 ms and less; noise that comes a thousand times a second hardly rests so long."""
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
@pytest.mark.parametrize("gap_ms", [NOISE_MS, 0.3, 1.0, 8.0])
def test_a_status_tells_a_pin_that_moved_within_10_ms(pin: int, gap_ms: float) -> None:
    """One look of 0.2 ms was often calm amid noise that came every 0.1 ms, and told a state that was none."""
    script = fed()
    toggled(script, pin, 15, 40, gap_ms)
    last = 15 + (int(25 / gap_ms) - 1) * gap_ms
    amid = [script.send(ms, wire.STATUS) for ms in (25.7, 27.3, 34.9)]
    before, after = script.send(last + REST_MS - 3, wire.STATUS), script.send(last + REST_MS + 1, wire.STATUS)
    record = script.run(80)
    assert [record.answer(asked).number("restless") for asked in (*amid, before)] == [pin] * 4
    assert record.answer(after).number("restless") == 0


def test_what_no_source_feeds_is_no_contact() -> None:
    script = Script()
    toggled(script, NO, 15, 40, NOISE_MS)
    asked = script.send(20, wire.STATUS)
    answer = script.run(80).answer(asked)
    assert (answer.number("contacts"), answer.number("restless")) == (0, 0)


def stepped(message: Message, pin: int, from_ms: float, to_ms: float, gap_ms: float) -> tuple[Record, int]:
    script = fed()
    asked = script.send(20, message, window_ms=30, dwell_ms=30, limit_ms=100, throw=2, watch=pin, wanted=pin)
    toggled(script, pin, from_ms, to_ms, gap_ms)
    return script.run(200), asked


def energy(record: Record) -> int:
    """Coil and load, had they ever been on."""
    return max(word & (COIL | BRANCHES | THROW_NO | THROW_NC) for _, word in record.outputs)


@pytest.mark.parametrize("message", [wire.STEP_COIL, wire.HOT_STEP])
@pytest.mark.parametrize("pin", [NO, NC])
@pytest.mark.parametrize("gap_ms", [NOISE_MS, 1.0])
def test_while_a_pin_does_not_rest_nothing_is_energised(message: Message, pin: int, gap_ms: float) -> None:
    """The coil and 20 A came on, and only then was the pin looked at."""
    record, asked = stepped(message, pin, 15, 150, gap_ms)
    answer = record.answer(asked)
    told = [answer.number(name) for name in ("restless", "edges", "edges_lost", "samples")]
    assert told == [pin, 0, 0, 0]
    assert energy(record) == record.outputs_at(199) == 0
    assert record.answered_ms(asked) - 20 == pytest.approx(3 + 40, abs=4)


def test_a_step_waits_for_the_end_of_a_bounce() -> None:
    record, asked = stepped(wire.STEP_COIL, NO, 15, 30, 0.3)
    assert (record.answer(asked).number("restless"), record.answer(asked).number("edges")) == (0, 0)
    assert record.on_ms(COIL) == pytest.approx(30 + REST_MS, abs=2)


@pytest.mark.parametrize("message", [wire.STEP_COIL, wire.HOT_STEP])
@pytest.mark.parametrize("from_ms", [25.0, 28.0, 29.5, 29.8])
def test_a_late_bounce_is_logged_and_no_trouble(message: Message, from_ms: float) -> None:
    """Looked at where the window ends, a pin that bounced just then ended the run, and its capture was lost."""
    script = fed()
    asked = script.send(20, message, window_ms=30, dwell_ms=30, limit_ms=100, throw=2)
    stepped_ms = 24 + (1 if message is wire.HOT_STEP else 0)
    for i in range(25):
        script.contacts(stepped_ms + from_ms + i * 0.06, 0 if i % 2 else NO)
    answer = script.run(200).answer(asked)
    assert (answer.number("restless"), answer.number("edges_lost")) == (0, 0)
    assert answer.number("edges") == 25 if from_ms < 29 else answer.number("edges") > 2


@pytest.mark.parametrize("gap_ms", [0.005, 0.05, 0.099, 0.101, 0.3])
def test_however_fast_a_contact_chatters_its_full_log_is_no_trouble_of_the_bench(gap_ms: float) -> None:
    """A contact that was burnt bounced faster than 0.1 ms, and the bench was blamed. What follows from the log is said
    above, and is never a pass."""
    record, asked = stepped(wire.STEP_COIL, NO, 30, 45, gap_ms)
    answer = record.answer(asked)
    assert (answer.number("edges"), answer.number("edges_lost"), answer.number("restless")) == (40, 1, 0)


@pytest.mark.parametrize(("to_ms", "restless", "at_ms"), [(150, NO, 40), (65, 0, 25)])
def test_a_walk_waits_for_the_end_of_a_bounce_and_tells_noise(to_ms: float, restless: int, at_ms: float) -> None:
    """A pin that noise closed ended a walk, and the part had a pull-in that it does not have."""
    record, asked = stepped(wire.STAIRCASE, NO, 49, to_ms, NOISE_MS)
    assert record.answer(asked).number("restless") == restless
    assert record.answered_ms(asked) - 50 == pytest.approx(at_ms, abs=4)
    assert bool(record.outputs_at(199) & COIL) == (not restless)


def test_a_walk_goes_on_while_the_other_throw_flickers() -> None:
    """NC may, where its pressure is almost gone; nothing is asked of it."""
    script = fed()
    asked = script.send(20, wire.STAIRCASE, dwell_ms=30, watch=NO, wanted=NO)
    toggled(script, NC, 15, 150, 0.3)
    assert script.run(200).answer(asked).number("restless") == 0


@pytest.mark.parametrize("message", [wire.STEP_COIL, wire.HOT_STEP])
@pytest.mark.parametrize("on_ms", [2, 20, 40])
def test_a_step_whose_on_time_ends_while_it_waits_is_not_made(message: Message, on_ms: int) -> None:
    """Its dry sources went off, what is not fed is not restless, and coil and 10 A came on amid the noise."""
    script = fed()
    asked = script.send(20, message, window_ms=10, on_ms=on_ms, limit_ms=100)
    toggled(script, NO, 15, 150, 0.5)
    record = script.run(200)
    assert record.answer(asked).result is Result.STOPPED
    assert energy(record) == record.outputs_at(199) == 0


def test_what_moved_at_the_end_of_a_window_is_restless_after_it() -> None:
    """Its edges are in the log of both pins, so both are."""
    script = fed()
    asked = script.send(20, wire.STEP_COIL, window_ms=30)
    toggled(script, NO, 45, 52, 0.3)
    stepped_ms = script.run(200).answered_ms(asked)
    told = {}
    for after_ms in (2, 12):
        script = fed()
        script.send(20, wire.STEP_COIL, window_ms=30)
        toggled(script, NO, 45, 52, 0.3)
        status = script.send(stepped_ms + after_ms, wire.STATUS)
        told[after_ms] = script.run(200).answer(status).number("restless")
    assert told == {2: NO | NC, 12: 0}


@pytest.mark.parametrize("behind_ms", [0.05, 0.09, 0.3])
def test_what_moved_once_behind_the_window_is_restless_after_it(behind_ms: float) -> None:
    """Its interrupt had come and gone, the log was closed, and the pin passed for one that rested."""
    window_end_ms = 24 + 30
    script = fed()
    step = script.send(20, wire.STEP_COIL, window_ms=30)
    soon, later = (script.send(window_end_ms + ms, wire.STATUS) for ms in (4, 14))
    script.contacts(window_end_ms + behind_ms, NO)
    record = script.run(200)
    assert record.answer(step).number("edges") == 0
    assert (record.answer(soon).number("restless"), record.answer(later).number("restless")) == (NO | NC, 0)


@pytest.mark.parametrize(("flickers", "restless"), [(20, 0), (100, NO)])
def test_a_walk_whose_contact_flickers_on_and_on_is_told_so_before_its_on_time_ends(
    flickers: int, restless: int
) -> None:
    """Each dwell waited for 10 ms of rest, and the walk ended by its on-time, which says nothing of a contact."""
    script = fed()
    for i in range(flickers):
        script.contacts(22 + i * 12.3, NO)
        script.contacts(22.1 + i * 12.3, 0)
    script.keep_alive(25, 2000)
    asked = script.send(
        20, wire.STAIRCASE, count=100, dwell_ms=5, step=1, watch=NO, wanted=NO, on_ms=100 * 5 + 1000, dac=100
    )
    answer = script.run(2100).answer(asked)
    assert (answer.result, answer.number("restless"), answer.number("stopped")) == (Result.DONE, restless, 0)
    assert answer.number("index") == 99 if not restless else answer.number("index") < 99
