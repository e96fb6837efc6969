"""A bench carried to another computer brings its calibration along, in its own memory."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import records

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardError
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.cli.testing import calibrate
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.jobs.run import boards, specimens
from pulldrop.jobs.run.calibration import carry, in_force
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.events import Event, RunStarted
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.model.part.relay import Relay
from pulldrop.plant.bench import instruments
from pulldrop.store import Store
from pulldrop.wire.notes import ROOM, pack

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
REAL = records.board("real")


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as opened:
        yield opened


@pytest.fixture(scope="module")
def virtual() -> CalibrationRecord:
    with VirtualBoard(instruments.empty(), 5) as board:
        return calibrate_board(board, 5)


def taken(record: CalibrationRecord, board: Identity, days_ago: int, why: str = "") -> CalibrationRecord:
    """The same, as if it had been taken on another board and day."""
    update = {
        "board_serial": board.serial, "simulated": board.simulated,
        "taken_at": NOW - timedelta(days=days_ago) + timedelta(microseconds=700_000),
    }  # fmt: skip
    calibration = record.calibration.model_copy(update=update)
    left_out = (why,) if why else ()
    changed = {"calibration": calibration, "board": board, "left_out": left_out}
    return record.model_copy(update=changed)


def in_board(record: CalibrationRecord) -> bytes:
    """All of a board's memory with this in it."""
    return pack(record.calibration, record.left_out, record.board.build).ljust(ROOM, b"\xff")


def days_old(calibration: Calibration) -> int | None:
    return round((NOW - calibration.taken_at) / timedelta(days=1)) if calibration.taken_at else None


@pytest.mark.parametrize(("in_store", "in_the_board", "used"), [
    (None, 3, 3), (5, 3, 3), (3, 5, 3), (5, None, 5), (None, None, None),
])  # fmt: skip
def test_the_newer_one_of_store_and_board_is_used(
    store: Store, virtual: CalibrationRecord, in_store: int | None, in_the_board: int | None, used: int | None
) -> None:
    if in_store is not None:
        store.add_calibration(taken(virtual, REAL, in_store))
    notes = b"\xff" * ROOM if in_the_board is None else in_board(taken(virtual, REAL, in_the_board))
    calibration, warnings = in_force(store, REAL, NOW, notes)
    assert days_old(calibration) == used
    assert not warnings


def test_of_one_calibration_the_stores_fuller_record_is_used(store: Store, virtual: CalibrationRecord) -> None:
    same = taken(virtual, REAL, 3)
    store.add_calibration(same)
    assert in_force(store, REAL, NOW, in_board(same))[0] == same.calibration


@pytest.mark.parametrize("stored", [True, False])
def test_a_damaged_one_is_told_in_a_sentence_and_only_the_stores_own_is_used(
    store: Store, virtual: CalibrationRecord, stored: bool
) -> None:
    if stored:
        store.add_calibration(taken(virtual, REAL, 5))
    notes = bytearray(in_board(taken(virtual, REAL, 3)))
    notes[60] ^= 4
    calibration, warnings = in_force(store, REAL, NOW, bytes(notes))
    assert days_old(calibration) == (5 if stored else None)
    assert [one.count("damaged and is not used") for one in warnings] == [1]


@pytest.mark.parametrize(("other", "words"), [
    (REAL.model_copy(update={"serial": 18}), "of real board 18, and this is real board 17"),
    (records.board("emulated"), "of simulated board 17, and this is real board 17"),
    (REAL.model_copy(update={"build": "evening"}), "of its evening build, and it is of the full build now"),
])  # fmt: skip
def test_one_of_another_board_or_of_what_it_grew_from_is_refused(
    store: Store, virtual: CalibrationRecord, other: Identity, words: str
) -> None:
    calibration, warnings = in_force(store, REAL, NOW, in_board(taken(virtual, other, 3)))
    assert not calibration.calibrated
    assert words in warnings[0]


def test_a_carried_one_warns_of_its_age_and_of_what_was_left_out(store: Store, virtual: CalibrationRecord) -> None:
    notes = in_board(taken(virtual, REAL, 400, "coil amps: no resistor was used."))
    calibration, warnings = in_force(store, REAL, NOW, notes)
    assert calibration.calibrated
    assert "good for 365" in warnings[0]
    assert warnings[1] == "coil amps: left out when the board was calibrated."


def test_a_run_on_a_computer_that_never_saw_the_bench_uses_what_it_brings(store: Store) -> None:
    told: list[Event] = []
    specimen = specimens.find("good-12v-changeover").specimen
    with VirtualBoard(instruments.empty(), 5) as board:
        record = calibrate_board(board, 5)
        assert carry(board, record)
        board.insert(specimen)
        run_one(Task(plan_for_specimen(specimen), Relay(id="P1", form="C")), board, store, told.append)
    started = told[0]
    assert isinstance(started, RunStarted)
    assert started.calibration.name.startswith("kept in board 5, ")
    assert started.calibration.coil_shunt.gain == pytest.approx(record.calibration.coil_shunt.gain, rel=1e-6)


def test_a_board_without_a_memory_keeps_nothing_and_nothing_is_wrong(virtual: CalibrationRecord) -> None:
    class Forgetful(VirtualBoard):
        notes = Board.notes
        keep_notes = Board.keep_notes

    with VirtualBoard(instruments.empty(), 5) as able, Forgetful(instruments.empty(), 5) as board:
        assert carry(able, virtual)
        assert not carry(board, virtual)


def test_a_board_lost_while_its_calibration_is_read_is_bench_trouble_and_no_run_begins(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def lost(_: Board) -> bytes:
        raise BoardError("The cable fell out.")

    monkeypatch.setattr(VirtualBoard, "notes", lost)
    file = str(tmp_path / "depot.db")
    assert main(["test", "--board", "virtual", "--part", "P1", "--store", file]) == 4
    assert "The cable fell out." in capsys.readouterr().err
    assert main(["parts", "show", "P1", "--store", file]) == 2


# --- what a person sees ---


def real_board(
    monkeypatch: pytest.MonkeyPatch, record: CalibrationRecord, serial: int, trouble: str = ""
) -> list[bytes]:
    """A board that says it is real, and a person who calibrates it to `record`; gives what is kept in the board."""
    kept: list[bytes] = []

    class Bench(VirtualBoard):
        def keep_notes(self, notes: bytes) -> None:
            if trouble:
                raise BoardError(trouble)
            kept.append(notes)

    @contextmanager
    def opened(*_: object) -> Iterator[Board]:
        with Bench(instruments.empty(), seed=5) as board:
            board.identity = REAL.model_copy(update={"serial": serial})
            yield board

    monkeypatch.setattr(boards, "open_board", opened)
    monkeypatch.setattr(calibrate, "_walk", lambda *_: record)
    return kept


def test_a_calibration_goes_into_store_and_board_and_says_so(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, virtual: CalibrationRecord, tmp_path: Path
) -> None:
    record, file = taken(virtual, REAL, 0), str(tmp_path / "depot.db")
    kept = real_board(monkeypatch, record, REAL.serial)
    assert main(["calibrate", "--store", file]) == 0
    assert "kept in the board too" in capsys.readouterr().out
    with Store.open(file) as store:
        assert store.calibrations() == (record,)
    assert kept == [pack(record.calibration, ())]


def test_a_board_that_does_not_keep_it_is_bench_trouble_and_the_store_has_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, virtual: CalibrationRecord, tmp_path: Path
) -> None:
    file = str(tmp_path / "depot.db")
    real_board(monkeypatch, taken(virtual, REAL, 0), REAL.serial, "The cable fell out.")
    assert main(["calibrate", "--store", file]) == 4
    assert "in the store, but not in the board. The cable fell out." in " ".join(capsys.readouterr().out.split())
    with Store.open(file) as store:
        assert len(store.calibrations()) == 1


def test_a_board_without_a_number_is_not_calibrated_and_told_how_to_get_one(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, virtual: CalibrationRecord, tmp_path: Path
) -> None:
    kept = real_board(monkeypatch, virtual, serial=0)
    assert main(["calibrate", "--store", str(tmp_path / "depot.db")]) == 2
    assert "pulldrop board name SERIAL" in capsys.readouterr().err
    assert not kept
