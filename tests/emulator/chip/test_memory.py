"""What the compiled firmware keeps when its supply goes: its number and its calibration; and how little it wears."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from desk import Desk
from fake_bench import FakeBench
from served.process import Emulator

from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.memory import eeprom
from pulldrop.jobs.run.calibration import in_force
from pulldrop.model.bench.calibration import nominal
from pulldrop.store import Store
from pulldrop.wire import messages as wire
from pulldrop.wire.notes import pack

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
TITLE = "title: a sound relay, invented for the memory of the board\n"
OWN = nominal(53).model_copy(update={"taken_at": NOW, "simulated": True, "low_side_ohm": 0.75})


@pytest.fixture
def emulator() -> Iterator[Emulator]:
    with Emulator(TITLE, None, serial=53) as emulator:
        yield emulator


def test_number_and_notes_outlive_the_supply(elf: Path, fake: FakeBench) -> None:
    with Desk(elf, fake, eeprom(serial=53)) as desk:
        desk.run(0.02)
        desk.ask(wire.NAME_BOARD, (4711,))
        desk.ask(wire.WRITE_NOTES, (764, 0x04030201))
        kept = desk.machine.chip.eeprom()
    with Desk(elf, fake, kept) as again:
        again.run(0.02)
        greeting = again.ask(wire.GREET)
        assert again.ask(wire.READ_NOTES, (736,)).numbers("notes")[-4:] == (1, 2, 3, 4)
    assert [greeting.number(name) for name in ("serial", "kind", "boots")] == [4711, 0x53, 2]


def test_an_emulated_board_that_is_named_stays_simulated(emulator: Emulator) -> None:
    with SerialBoard.open(emulator.port) as board:
        board.name(18)
        assert (board.identity.serial, board.identity.simulated) == (18, True)
    emulator.reset()
    with SerialBoard.open(emulator.port) as board:
        assert (board.identity.serial, board.identity.kind) == (18, "emulated")


def test_a_bench_carried_to_a_computer_that_never_saw_it_is_calibrated(emulator: Emulator) -> None:
    with SerialBoard.open(emulator.port) as board:
        board.keep_notes(pack(OWN, ()))
    emulator.reset()
    with SerialBoard.open(emulator.port) as board, Store.open(":memory:") as store:
        calibration, warnings = in_force(store, board.identity, NOW, board.notes())
        assert calibration.taken_at == NOW and not warnings
        assert calibration.low_side_ohm == pytest.approx(0.75)
        board.name(18)
        calibration, warnings = in_force(store, board.identity, NOW, board.notes())
    assert not calibration.calibrated, "it is another board now"
    assert "of simulated board 53, and this is simulated board 18" in warnings[0]


def test_a_calibration_that_lost_a_byte_is_told_and_not_used(emulator: Emulator) -> None:
    with SerialBoard.open(emulator.port) as board, Store.open(":memory:") as store:
        board.keep_notes(pack(OWN, ()))
        board.keep_notes(board.notes()[:40] + b"\xff")
        calibration, warnings = in_force(store, board.identity, NOW, board.notes())
    assert not calibration.calibrated
    assert "damaged and is not used" in warnings[0]


def test_no_received_byte_is_lost_while_notes_are_written(elf: Path, fake: FakeBench) -> None:
    with Desk(elf, fake) as desk:
        desk.run(0.02)
        asked = [desk.send(wire.WRITE_NOTES, (0, 0)), desk.send(wire.STATUS), desk.send(wire.STATUS)]
        assert [desk.answer(one).result for one in asked] == [wire.Result.DONE] * 3
        assert desk.ask(wire.STATUS).number("bad_frames") == 0
