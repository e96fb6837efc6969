"""Whatever the host does: the compiled firmware turns everything off by itself, and says why."""

from pathlib import Path

import pytest
from desk import Desk
from fake_bench import FakeBench

from pulldrop.emulator.chip import CLOCK_HZ, Chip, Happening
from pulldrop.emulator.i2c_parts import ADS1115, INA226, MCP4725, Mcp4725, Mcp23017
from pulldrop.emulator.machine import WATCHED, Machine
from pulldrop.emulator.memory import eeprom
from pulldrop.plant.bench.bench import Pins
from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Fault, Reset, Result, Trip

DAC, LIMIT, BOTH = 1843, 1000, 3
COIL_OUT = 1
COUNTS_PER_A = 0.82 * 20 / 5 * 1024
BYTE_S = 20e-6  # at 500 kbaud


def hold(desk: Desk, on_ms: int = 60_000, limit: int = LIMIT) -> None:
    """The coil on, with both dry sources."""
    assert desk.ask(wire.HOLD_COIL, (DAC, 1, 0, BOTH, on_ms, limit)).result is Result.DONE
    assert desk.machine.pins.coil


def off_after(desk: Desk, most_s: float, step_s: float = 0.0002) -> float:
    """Seconds from now until the coil pin is low."""
    return desk.seconds_until(lambda: not desk.machine.pins.coil, most_s, step_s)


def trip(desk: Desk) -> Trip:
    """The latched trip, and nothing on."""
    status = desk.ask(wire.STATUS)
    assert status.number("outputs") == 0
    return Trip(status.number("trip"))


def refused(desk: Desk) -> Result:
    """What the board says to a coil request now."""
    return desk.ask(wire.HOLD_COIL, (DAC, 1, 0, 0, 100, LIMIT)).result


# --- lease and on-time ---


def test_the_lease_ends_500_ms_after_the_last_frame(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.run(0.3)
    fake_desk.ask(wire.STATUS)
    assert 0.49 <= off_after(fake_desk, 1.0) <= 0.5
    assert trip(fake_desk) is Trip.LEASE
    assert fake_desk.machine.pins.dac == 0


def test_on_a_held_bus_the_lease_takes_the_coil_supply_off_by_the_lamp_s_pin(fake_desk: Desk) -> None:
    """The DAC, which only the bus could set to zero, kept terminal 86 live until the bus was let go."""
    hold(fake_desk)
    assert fake_desk.machine.pins.lamp
    fake_desk.machine.chip.hold_bus(True)
    assert 0.47 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.lamp, 1.0) <= 0.5
    assert fake_desk.machine.pins.dac == DAC
    fake_desk.machine.chip.hold_bus(False)
    assert fake_desk.seconds_until(lambda: not fake_desk.machine.pins.dac, 0.5) <= 0.02


def test_a_damaged_frame_does_not_renew_the_lease(fake_desk: Desk) -> None:
    hold(fake_desk)
    for _ in range(4):
        fake_desk.run(0.1)
        fake_desk.machine.receive(frame(bytes([1, wire.STATUS.id]))[:-2] + b"\xc1\x00")
    assert off_after(fake_desk, 1.0) <= 0.11
    assert fake_desk.ask(wire.STATUS).number("bad_frames") >= 4


def test_the_coil_stays_on_for_its_own_time_at_most(fake_desk: Desk) -> None:
    hold(fake_desk, on_ms=800)
    began = fake_desk.machine.time_s

    def off() -> bool:
        if round((fake_desk.machine.time_s - began) * 1e4) % 500 == 0:
            fake_desk.send(wire.STATUS)
        return not fake_desk.machine.pins.coil

    assert 0.795 <= fake_desk.seconds_until(off, 1.0) <= 0.802
    assert trip(fake_desk) is Trip.ON_TIME


def test_an_on_time_that_no_message_may_carry_is_refused(fake_desk: Desk) -> None:
    message = wire.HOLD_COIL
    content = bytes([9, message.id]) + b"".join(n.to_bytes(w, "little") for n, w in
        [(DAC, 2), (1, 1), (0, 1), (0, 1), (60_001, 2), (LIMIT, 2)])  # fmt: skip
    fake_desk.begin()
    fake_desk.machine.receive(frame(content))
    assert fake_desk.answer(9).result is Result.ARGUMENT
    assert not fake_desk.machine.pins.coil


# --- current ---


def test_over_current_for_a_millisecond_turns_off(fake_desk: Desk, fake: FakeBench) -> None:
    fake.amps = 0.1
    hold(fake_desk, limit=500)
    fake_desk.run(0.1)
    assert fake_desk.machine.pins.coil
    fake.amps = 600 / COUNTS_PER_A
    took = off_after(fake_desk, 0.1, step_s=0.00005)
    assert 0.00095 <= took <= 0.0012, "1 ms, seen every 50 us"
    assert trip(fake_desk) is Trip.OVER_CURRENT
    assert refused(fake_desk) is Result.TRIPPED
    assert fake_desk.ask(wire.ACKNOWLEDGE).result is Result.DONE
    assert refused(fake_desk) is Result.DONE


def test_a_surge_of_less_than_a_millisecond_is_let_pass(fake_desk: Desk, fake: FakeBench) -> None:
    fake.amps = 0.1
    hold(fake_desk, limit=500)
    fake_desk.run(0.1)
    for amps, seconds in ((0.2, 0.0008), (0.1, 0.0005), (0.2, 0.0008), (0.1, 0.1)):
        fake.amps = amps
        fake_desk.run(seconds)
    assert fake_desk.machine.pins.coil


# --- load ---


def test_a_load_pulse_ends_at_its_limit_whatever_is_left_to_sample(fake_desk: Desk) -> None:
    hold(fake_desk)
    sequence = fake_desk.send(wire.LOAD_PULSE, (1, 4, 200, 12, 60, 5))
    fake_desk.seconds_until(lambda: fake_desk.machine.pins.throws != 0, 0.1, 0.0001)
    assert (fake_desk.machine.pins.throws, fake_desk.machine.pins.branches) == (1, 4)
    assert 0.059 <= fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 0.5) <= 0.0612
    assert fake_desk.answer(sequence).result is Result.STOPPED
    assert fake_desk.machine.pins.throws == 0


def test_a_pulse_is_500_ms_at_most_even_when_a_converter_hangs(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.send(wire.LOAD_PULSE, (1, 4, 200, 12, 500, 5))
    fake_desk.seconds_until(lambda: fake_desk.machine.pins.branches != 0, 0.1)
    fake_desk.machine.chip.hold_bus(True)
    assert fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 1.0) <= 0.502


def test_no_message_may_ask_for_a_longer_pulse(fake_desk: Desk) -> None:
    content = bytes([9, wire.LOAD_PULSE.id, 1, 4, 2, 1]) + (501).to_bytes(2, "little") + bytes([5])
    fake_desk.begin()
    fake_desk.machine.receive(frame(content))
    assert fake_desk.answer(9).result is Result.ARGUMENT
    assert fake_desk.machine.pins.branches == 0


def test_loads_are_on_for_a_tenth_of_ten_seconds_at_most(fake_desk: Desk) -> None:
    loaded_s, results = 0.0, []
    for _ in range(6):
        sequence = fake_desk.send(wire.LOAD_PULSE, (2, 8, 200, 12, 250, 5))
        fake_desk.run(0.005)
        if fake_desk.machine.pins.branches:
            loaded_s += 0.005 + fake_desk.seconds_until(lambda: not fake_desk.machine.pins.branches, 1.0)
        results.append(fake_desk.answer(sequence).result)
        fake_desk.run(1.0)
    assert results[-1] is Result.DUTY
    assert Result.DONE in results
    assert 0.6 <= loaded_s <= 1.0
    fake_desk.run(10.3)
    assert fake_desk.ask(wire.LOAD_PULSE, (2, 8, 2, 1, 250, 5)).result is Result.DONE


# --- emergency stop ---


def test_the_emergency_stop_turns_everything_off_at_once(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.send(wire.LOAD_PULSE, (1, 4, 200, 1, 500, 5))
    fake_desk.seconds_until(lambda: fake_desk.machine.pins.branches != 0, 0.1)
    fake_desk.machine.open_stop(True)
    late_s = fake_desk.seconds_until(lambda: fake_desk.machine.chip.outputs == 0, 0.01, 2e-5)
    assert late_s < 0.001, "both supplies are broken in hardware; the pin follows when its capacitor is charged"
    fake_desk.run(0.001)
    assert fake_desk.machine.pins == Pins()


def test_the_emergency_stop_stays_latched_and_is_not_acknowledged_while_open(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.machine.open_stop(True)
    fake_desk.run(0.01)
    assert trip(fake_desk) is Trip.EMERGENCY_STOP
    assert fake_desk.ask(wire.STATUS).number("stop") == 1
    assert fake_desk.ask(wire.ACKNOWLEDGE).result is Result.TRIPPED
    fake_desk.machine.open_stop(False)
    fake_desk.run(0.01)
    assert refused(fake_desk) is Result.TRIPPED, "closing it is not enough"
    assert fake_desk.ask(wire.ACKNOWLEDGE).result is Result.DONE
    assert refused(fake_desk) is Result.DONE


def test_a_board_that_starts_with_the_stop_open_drives_nothing(elf: Path, fake: FakeBench) -> None:
    with Desk(elf, fake) as desk:
        desk.machine.open_stop(True)
        desk.run(0.02)
        assert refused(desk) is Result.TRIPPED
        assert not desk.machine.pins.coil


# --- the bus ---


@pytest.mark.parametrize(("address", "message", "values"), [
    (INA226, wire.SENSE_COIL, ()),
    (ADS1115, wire.LOAD_PULSE, (1, 1, 2, 3, 50, 5)),
    (MCP4725, wire.HOLD_COIL, (DAC, 1, 0, 0, 100, LIMIT)),
])  # fmt: skip
def test_a_missing_part_is_told_and_leaves_nothing_on(
    fake_desk: Desk, address: int, message: wire.Message, values: tuple[int, ...]
) -> None:
    index = list(fake_desk.machine.parts).index(address)
    fake_desk.machine.chip.set_part(index, address, present=False)
    assert fake_desk.ask(message, values).result is Result.BUS
    assert not fake_desk.machine.pins.coil
    assert fake_desk.machine.pins.branches == 0


def test_a_stuck_bus_neither_hangs_the_board_nor_keeps_the_coil_on(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.machine.chip.hold_bus(True)
    assert fake_desk.ask(wire.SENSE_COIL).result is Result.BUS
    assert fake_desk.ask(wire.ALL_OFF).result in (Result.DONE, Result.BUS)
    assert not fake_desk.machine.pins.coil
    assert fake_desk.machine.restarts == 0
    fake_desk.machine.chip.hold_bus(False)
    assert fake_desk.ask(wire.SENSE_COIL).result is Result.DONE


@pytest.mark.parametrize("reset", [False, True])
def test_a_scan_that_a_stuck_bus_kept_on_goes_off_when_the_bus_is_free(fake_desk: Desk, reset: bool) -> None:
    """It stayed on until another scan was asked for, and nothing told."""
    ports = fake_desk.machine.ports
    fake_desk.send(wire.SCAN, (2, 1, 0, 0))
    fake_desk.seconds_until(lambda: ports.ports != Mcp23017.HELD, 0.1)
    fake_desk.machine.chip.hold_bus(True)
    if reset:
        fake_desk.machine.reset()
    fake_desk.run(0.08)
    assert fake_desk.ask(wire.STATUS).number("faults") & Fault.SCAN
    assert refused(fake_desk) is Result.BUS
    fake_desk.machine.chip.hold_bus(False)
    assert fake_desk.seconds_until(lambda: ports.ports == Mcp23017.HELD, 0.1) <= 0.015
    fake_desk.run(0.21)
    assert fake_desk.ask(wire.STATUS).number("faults") == 0
    assert refused(fake_desk) is Result.DONE


def test_the_lease_holds_while_the_bus_is_stuck(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.machine.chip.hold_bus(True)
    fake_desk.send(wire.SENSE_COIL)
    assert off_after(fake_desk, 1.0) <= 0.5


def test_the_lease_counts_from_when_a_request_came_not_from_when_it_was_heard(fake_desk: Desk) -> None:
    """Nine waited behind a held bus and filled packets: the coil was on for more than 520 ms after the last."""
    fake_desk.ask(wire.FILL_PACKETS, (62,))
    hold(fake_desk)
    fake_desk.machine.chip.hold_bus(True)
    asked = b"".join(frame(bytes([101 + i, wire.SENSE_COIL.id])).rstrip(b"\0") for i in range(9)) + b"\0"
    fake_desk.machine.receive(asked)
    assert off_after(fake_desk, 1.0) <= 0.5 + len(asked) * BYTE_S


# --- restarts ---


def test_a_program_that_hangs_is_restarted_by_the_watchdog(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.machine.chip.jam(True)
    assert off_after(fake_desk, 1.0) <= 0.130, "2048 << 3 cycles of 128 kHz: 128 ms"
    fake_desk.machine.chip.jam(False)
    fake_desk.run(0.05)
    greeting = fake_desk.ask(wire.GREET)
    assert greeting.number("reset_cause") == Reset.WATCHDOG
    assert greeting.number("boots") == 2
    assert fake_desk.machine.restarts == 1


def test_the_reset_button_lets_go_of_a_held_coil(fake_desk: Desk) -> None:
    hold(fake_desk)
    fake_desk.machine.reset()
    assert not fake_desk.machine.pins.coil, "at once: a pin in reset is an input, and a resistor pulls the gate down"
    fake_desk.run(0.02)
    greeting = fake_desk.ask(wire.GREET)
    assert greeting.number("reset_cause") == Reset.EXTERNAL
    assert greeting.number("boots") == 2
    assert fake_desk.ask(wire.STATUS).number("outputs") == 0
    assert fake_desk.machine.pins.dac == 0


def test_no_output_moves_while_the_board_starts(elf: Path) -> None:
    chip = Chip(elf, eeprom(), WATCHED)
    happened = Happening(0)
    while chip.cycle < CLOCK_HZ // 20:
        happened |= chip.run(CLOCK_HZ // 20)
    assert not happened & Happening.OUTPUTS
    assert chip.outputs == 0
    chip.close()


def test_a_dac_that_starts_up_with_volts_is_cleared_for_good(elf: Path, fake: FakeBench) -> None:
    with Desk(elf, fake) as desk:
        desk.machine.dac = Mcp4725(desk.machine.chip, 2, kept=2048)  # as it leaves its maker
        desk.machine.parts[MCP4725] = desk.machine.dac
        desk.run(0.1)
        assert (desk.machine.dac.code, desk.machine.dac.kept) == (0, 0)


def test_an_emulated_board_says_that_it_is_simulated(elf: Path, fake: FakeBench) -> None:
    with Desk(elf, fake, eeprom(serial=4711)) as desk:
        desk.run(0.02)
        greeting = desk.ask(wire.GREET)
    assert (greeting.number("kind"), greeting.number("serial")) == (0x53, 4711)
    assert greeting.number("schema_hash") == wire.SCHEMA_HASH
    assert greeting.number("reset_cause") == Reset.POWER_ON


# --- the line ---


def test_no_received_byte_waits_longer_than_the_hardware_can_keep_it(desk: Desk) -> None:
    for on in (1, 0, 1, 0):
        desk.send(wire.STEP_COIL, (DAC, on, 0, BOTH, 1000, LIMIT, 30, 1, 0))
        for _ in range(25):
            desk.send(wire.STATUS)
            desk.run(0.002)
        assert desk.ask(wire.STATUS).number("work") == 0
    assert desk.ask(wire.STATUS).number("bad_frames") == 0
    assert desk.machine.chip.lost == 0


def test_a_damaged_frame_costs_itself_only(fake_desk: Desk) -> None:
    content = bytes([7, wire.STATUS.id])
    damaged = bytearray(frame(content))
    damaged[3] ^= 0x10
    fake_desk.machine.receive(bytes(damaged) + frame(bytes([8, wire.STATUS.id])))
    assert fake_desk.answer(8).number("bad_frames") == 1
    assert all(answer.sequence != 7 for answer in fake_desk.answers)


def test_the_machine_runs_on_after_thousands_of_random_bytes(fake_desk: Desk) -> None:
    value = 1
    for _ in range(40):
        noise = bytearray()
        for _ in range(100):
            value = value * 48271 % 0x7FFFFFFF
            noise.append(value & 0xFF)
        fake_desk.machine.receive(bytes(noise))
        fake_desk.run(0.003)
    assert fake_desk.ask(wire.ALL_OFF).result is Result.DONE
    assert fake_desk.machine.restarts == 0
    assert fake_desk.machine.chip.outputs == 0


def test_a_machine_that_nobody_speaks_to_stays_still(elf: Path, fake: FakeBench) -> None:
    machine = Machine(elf, fake, eeprom())
    machine.run(2.0)
    assert (machine.pins, machine.restarts, machine.sent()) == (Pins(), 0, b"")
    machine.close()
