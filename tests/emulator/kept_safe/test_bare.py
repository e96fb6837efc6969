"""The compiled firmware on a bare board: what its pins do, and that a full build is never taken for one."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from desk import Desk

from pulldrop.emulator import machine
from pulldrop.emulator.chip import ChipPort
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.specimen import Specimen
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Fault, Result, Trip

T85, T86, T87, T87A, T30 = 1, 2, 3, 4, 9
AT_REST = dict.fromkeys(machine.BARE, "low")


def bench() -> Bench:
    return Bench(Specimen(title="invented: a good relay"), None)


@pytest.fixture
def desk(elf: Path) -> Iterator[Desk]:
    """The firmware on a bare board with a good relay, started."""
    with Desk(elf, bench(), bare=True) as desk:
        desk.run(0.03)
        yield desk


def levels(desk: Desk) -> dict[str, str | None]:
    return {terminal: desk.machine._drive_level(terminal) for terminal in machine.BARE}


def during(desk: Desk, *values: int) -> dict[str, str | None]:
    """Levels in the middle of a scan; its answer is awaited."""
    asked = desk.send(wire.SCAN, values)
    desk.run(0.02)
    found = levels(desk)
    assert desk.answer(asked).result is Result.DONE
    return found


def test_at_rest_every_terminal_is_held_low_and_the_sense_pins_are_inputs(desk: Desk) -> None:
    assert levels(desk) == AT_REST
    assert desk.machine.chip.memory(machine.DIRECTION_AT[ChipPort.C]) & 0x0F == 0


@pytest.mark.parametrize(("source", "sink"), [(T86, T85), (T85, T86), (T30, T87A), (T87, T30)])
def test_a_scan_drives_two_terminals_and_leaves_the_others_open(desk: Desk, source: int, sink: int) -> None:
    names = {T85: "85", T86: "86", T87: "87", T87A: "87a", T30: "30"}
    wanted = dict.fromkeys(machine.BARE) | {names[source]: "high", names[sink]: "low"}
    assert during(desk, source, sink, 0, 0) == wanted
    assert levels(desk) == AT_REST


def test_a_weak_source_is_its_pull_up(desk: Desk) -> None:
    assert during(desk, T87, T30, 0, 1) == dict.fromkeys(machine.BARE) | {"87": "weak", "30": "low"}


def test_a_bare_board_keeps_every_load_branch_and_the_coil_switch_low_in_a_scan(desk: Desk) -> None:
    asked = desk.send(wire.SCAN, (T86, T87A, T85, 0))
    for _ in range(60):
        desk.run(0.001)
        assert desk.machine.chip.outputs & (machine.COIL | 15 << machine.BRANCHES) == 0
    assert desk.answer(asked).result is Result.DONE


def test_a_scan_is_answered_in_time_for_the_lease(desk: Desk) -> None:
    asked = desk.send(wire.SCAN, (T86, T85, T30, 0))
    taken = desk.seconds_until(lambda: any(a.sequence == asked for a in desk.answers), 0.3)
    assert 0.08 < taken < 0.12


def test_a_reset_in_a_scan_leaves_every_terminal_low(desk: Desk) -> None:
    desk.send(wire.SCAN, (T86, T85, 0, 0))
    desk.run(0.02)
    desk.machine.reset()
    desk.run(0.03)
    assert levels(desk) == AT_REST


def test_a_full_board_whose_bus_hangs_after_the_start_stays_full(elf: Path) -> None:
    with Desk(elf, bench()) as desk:
        desk.run(0.03)
        desk.machine.chip.hold_bus(True)
        assert desk.ask(wire.SCAN, (T86, T85, 0, 0)).result is Result.BUS
        assert desk.ask(wire.GREET).number("build") == 0


def test_a_full_board_whose_bus_hangs_at_the_start_is_not_taken_for_a_bare_one(elf: Path) -> None:
    with Desk(elf, bench()) as desk:
        desk.machine.chip.hold_bus(True)
        desk.run(0.1)
        assert desk.ask(wire.GREET).number("build") == 0


def test_a_board_that_was_full_keeps_its_throws_low_when_its_bus_is_dead(elf: Path) -> None:
    """With the stop pressed too, only its EEPROM knows; the bare board's pins of 86 and 87a are the throws' gates."""
    with Desk(elf, bench()) as before:
        before.run(0.1)
        kept = before.machine.chip.eeprom()
    with Desk(elf, bench(), kept) as desk:
        for index, address in enumerate(desk.machine.parts):
            desk.machine.chip.set_part(index, address, present=False)
        desk.machine.open_stop(True)
        desk.run(0.3)
        status = desk.ask(wire.STATUS)
        assert (status.number("faults"), status.number("trip")) == (Fault.BUS, Trip.EMERGENCY_STOP)
        asked = desk.send(wire.SCAN, (T86, T87A, 0, 0))
        for _ in range(60):
            desk.run(0.001)
            assert desk.machine.chip.outputs == 0
        assert desk.answer(asked).result is Result.BUS
        assert desk.ask(wire.GREET).number("build") == 0


def test_a_full_build_has_its_scan_at_rest_after_the_start_and_after_a_scan(elf: Path) -> None:
    with Desk(elf, bench()) as desk:
        desk.run(0.03)
        assert desk.machine.ports.ports == (0x88, 0)
        asked = desk.send(wire.SCAN, (T86, T85, 0, 0))
        desk.run(0.01)
        assert desk.machine.ports.ports == (T86 - 1, 0x08 | T86 - 1)
        desk.answer(asked)
        assert desk.machine.ports.ports == (0x88, 0)


def test_a_reset_in_a_scan_takes_its_lines_off(elf: Path) -> None:
    """The ports keep their levels through the microcontroller's reset."""
    with Desk(elf, bench()) as desk:
        desk.run(0.03)
        desk.send(wire.SCAN, (T87A, T30, 0, 0))
        desk.run(0.01)
        desk.machine.reset()
        desk.run(0.03)
        assert desk.machine.ports.ports == (0x88, 0)


def test_a_full_board_whose_bus_is_held_is_not_made_bare(elf: Path) -> None:
    """Held, nothing answers; but somebody holds it."""
    with Desk(elf, bench()) as desk:
        desk.run(0.03)
        desk.machine.open_stop(True)
        desk.machine.chip.hold_bus(True)
        desk.run(0.01)
        assert desk.ask(wire.MAKE_BARE, (0xBA5E,)).result is Result.BUILD
