"""A make under load on the compiled firmware: whatever ends it early turns the load off, and mostly the coil too."""

import pytest
from desk import Desk
from fake_bench import FakeBench

from pulldrop.plant.bench.bench import Pins
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result, Trip

DAC, BOTH, A10, NO, NC = 1843, 3, 4, 1, 2
COUNTS_PER_A = 0.82 * 20 / 5 * 1024


def hot(desk: Desk, window_ms: int = 100, limit_ms: int = 300, limit: int = 1000) -> int:
    """Begin one; returns its sequence when load and coil are on."""
    sequence = desk.send(wire.HOT_STEP, (DAC, 1, 0, BOTH, 5000, limit, window_ms, 1, NO, A10, limit_ms, 1))
    desk.seconds_until(lambda: desk.machine.pins.coil, 0.1, 0.0001)
    assert (desk.machine.pins.branches, desk.machine.pins.throws, desk.machine.pins.dry) == (A10, NO, BOTH)
    return sequence


def test_the_load_is_there_before_the_coil_and_gone_before_the_answer_and_the_coil_stays(fake_desk: Desk) -> None:
    sequence = fake_desk.send(wire.HOT_STEP, (DAC, 1, 0, BOTH, 5000, 1000, 20, 1, NO, A10, 300, 1))
    fake_desk.seconds_until(lambda: fake_desk.machine.pins.branches != 0, 0.1, 0.0001)
    assert not fake_desk.machine.pins.coil
    before = fake_desk.seconds_until(lambda: fake_desk.machine.pins.coil, 0.1, 0.0001)
    assert 0.0009 <= before <= 0.0024
    assert 0.022 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 0.1, 0.0001) <= 0.027
    assert fake_desk.answer(sequence).result is Result.DONE
    assert fake_desk.machine.pins == Pins(lamp=True, dac=DAC, coil=True, dry=BOTH)


def test_the_load_ends_at_its_limit_and_the_answer_says_that_it_was_stopped(fake_desk: Desk) -> None:
    sequence = hot(fake_desk, window_ms=100, limit_ms=40)
    assert 0.030 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 0.5) <= 0.041
    assert fake_desk.answer(sequence).result is Result.STOPPED
    assert fake_desk.machine.pins.throws == 0


def test_a_converter_that_hangs_keeps_no_load_on(fake_desk: Desk) -> None:
    hot(fake_desk, window_ms=10, limit_ms=500)
    fake_desk.machine.chip.hold_bus(True)
    assert fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 1.0) <= 0.502


def test_the_emergency_stop_turns_load_and_coil_off_at_once(fake_desk: Desk, fake: FakeBench) -> None:
    sequence = hot(fake_desk)
    fake_desk.run(0.01)
    fake_desk.machine.open_stop(True)
    assert fake.stop_open, "the supplies are broken in hardware"
    assert fake_desk.seconds_until(lambda: fake_desk.machine.pins == Pins(), 0.01, 2e-5) <= 0.001
    assert fake_desk.answer(sequence).result is Result.TRIPPED


def test_over_current_turns_load_and_coil_off(fake_desk: Desk, fake: FakeBench) -> None:
    fake.amps = 0.1
    sequence = hot(fake_desk, limit=500)
    fake_desk.run(0.01)
    fake.amps = 600 / COUNTS_PER_A
    assert fake_desk.seconds_until(lambda: not fake_desk.machine.pins.coil, 0.01, 2e-5) <= 0.0013
    assert fake_desk.machine.pins.branches == 0
    assert fake_desk.answer(sequence).result is Result.TRIPPED
    assert Trip(fake_desk.ask(wire.STATUS).number("trip")) is Trip.OVER_CURRENT


@pytest.mark.parametrize("silent_before_s", [0.3, 0.45])
def test_a_host_that_falls_silent_leaves_neither_load_nor_coil_on(fake_desk: Desk, silent_before_s: float) -> None:
    hot(fake_desk, window_ms=200, limit_ms=500)
    fake_desk.run(silent_before_s)
    assert fake_desk.machine.pins.branches == 0
    assert fake_desk.seconds_until(lambda: not fake_desk.machine.pins.coil, 1.0) <= 0.51 - silent_before_s + 0.01
    assert Trip(fake_desk.ask(wire.STATUS).number("trip")) is Trip.LEASE


# --- NC, which the load is on as the coil goes off ---


def hot_nc(desk: Desk, window_ms: int = 100, limit_ms: int = 300) -> int:
    """Begin one with the coil on; returns its sequence when the load is on and the coil off."""
    assert desk.ask(wire.HOLD_COIL, (DAC, 1, 0, BOTH, 5000, 1000)).result is Result.DONE
    desk.run(0.01)
    sequence = desk.send(wire.HOT_STEP, (DAC, 0, 0, BOTH, 5000, 1000, window_ms, 1, NC, A10, limit_ms, 1))
    desk.seconds_until(lambda: not desk.machine.pins.coil, 0.1, 0.0001)
    assert (desk.machine.pins.branches, desk.machine.pins.throws, desk.machine.pins.dry) == (A10, NC, BOTH)
    return sequence


def test_the_load_is_on_nc_before_the_coil_goes_off_and_gone_before_the_answer(fake_desk: Desk) -> None:
    assert fake_desk.ask(wire.HOLD_COIL, (DAC, 1, 0, BOTH, 5000, 1000)).result is Result.DONE
    sequence = fake_desk.send(wire.HOT_STEP, (DAC, 0, 0, BOTH, 5000, 1000, 30, 1, NC, A10, 300, 1))
    fake_desk.seconds_until(lambda: fake_desk.machine.pins.branches != 0, 0.1, 0.0001)
    assert fake_desk.machine.pins.coil
    assert 0.0009 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.coil, 0.1, 0.0001) <= 0.0024
    assert 0.032 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 0.1, 0.0001) <= 0.037
    assert fake_desk.answer(sequence).result is Result.DONE
    assert fake_desk.machine.pins == Pins(lamp=True, dac=DAC, dry=BOTH)


def test_the_load_on_nc_ends_at_its_limit(fake_desk: Desk) -> None:
    sequence = hot_nc(fake_desk, window_ms=100, limit_ms=40)
    assert 0.030 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 0.5) <= 0.041
    assert fake_desk.answer(sequence).result is Result.STOPPED


def test_the_emergency_stop_and_all_off_take_the_load_off_nc_at_once(fake_desk: Desk) -> None:
    sequence = hot_nc(fake_desk)
    fake_desk.run(0.01)
    fake_desk.machine.open_stop(True)
    assert fake_desk.seconds_until(lambda: fake_desk.machine.pins == Pins(), 0.01, 2e-5) <= 0.001
    assert fake_desk.answer(sequence).result is Result.TRIPPED
    fake_desk.machine.open_stop(False)
    assert fake_desk.ask(wire.ACKNOWLEDGE).result is Result.DONE
    sequence = hot_nc(fake_desk)
    fake_desk.ask(wire.ALL_OFF)
    assert fake_desk.machine.pins == Pins()
    assert fake_desk.answer(sequence).result is Result.STOPPED


def test_over_current_before_the_coil_goes_off_takes_the_load_off_nc(fake_desk: Desk, fake: FakeBench) -> None:
    fake.amps = 0.1
    assert fake_desk.ask(wire.HOLD_COIL, (DAC, 1, 0, BOTH, 5000, 1000)).result is Result.DONE
    sequence = fake_desk.send(wire.HOT_STEP, (DAC, 0, 0, BOTH, 5000, 500, 30, 1, NC, A10, 300, 1))
    fake.amps = 600 / COUNTS_PER_A
    assert fake_desk.answer(sequence).result is Result.TRIPPED
    assert fake_desk.machine.pins.branches == 0 and not fake_desk.machine.pins.coil


def test_a_host_that_falls_silent_leaves_no_load_on_nc(fake_desk: Desk) -> None:
    hot_nc(fake_desk, window_ms=200, limit_ms=500)
    assert fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 1.0) <= 0.502
    assert not fake_desk.machine.pins.coil
