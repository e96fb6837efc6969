"""A code of the coil supply's DAC is believed when it is read back, not when the part acknowledges it."""

import pytest
from firmware_native import COIL, Script

from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Fault, Result

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
