"""`pulldrop board info`: what a board says of itself, and the calibration in its own memory with its last good day."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import pytest
import records

from pulldrop.board.contract import Board
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.jobs.run import boards
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench import instruments
from pulldrop.wire.notes import LEFT_OUT, ROOM, pack

REAL = records.board("real")
EMPTY = b"\xff" * ROOM
Told = Callable[..., tuple[str, dict[str, object]]]


def notes(days_ago: int, serial: int = REAL.serial, left_out: tuple[str, ...] = ()) -> bytes:
    """A board's memory with a calibration of that age in it."""
    taken_at = datetime.now(UTC) - timedelta(days=days_ago)
    calibration = nominal(serial).model_copy(update={"taken_at": taken_at})
    return pack(calibration, left_out).ljust(ROOM, b"\xff")


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Told:
    """What the command says of a real board with this in its memory: in words, and in JSON."""

    def say(memory: bytes) -> tuple[str, dict[str, object]]:
        @contextmanager
        def open_board(*_: object) -> Iterator[Board]:
            with VirtualBoard(instruments.empty(), None) as board:
                board.identity = REAL
                monkeypatch.setattr(board, "notes", lambda: memory)
                yield board

        monkeypatch.setattr(boards, "open_board", open_board)
        assert main(["board", "info"]) == 0
        words = " ".join(capsys.readouterr().out.split()).partition("calibration kept ")[2]
        assert main(["board", "info", "--json"]) == 0
        return words, json.loads(capsys.readouterr().out)["calibration"]

    return say


def day(days: int) -> str:
    return f"{datetime.now(UTC) + timedelta(days=days):%Y-%m-%d}"


def test_a_calibration_in_the_board_is_told_with_its_day_and_its_last_good_day(told: Told) -> None:
    words, answer = told(notes(days_ago=30))
    assert words == f"of {day(-30)}, good until {day(335)}"
    assert str(answer["taken_at"])[:10] == day(-30) and str(answer["good_until"])[:10] == day(335)
    assert answer["old"] is False


def test_one_older_than_a_year_says_so_in_words(told: Told) -> None:
    words, answer = told(notes(days_ago=400))
    assert words == f"of {day(-400)}, TOO OLD since {day(-35)}; calibrate again: pulldrop calibrate"
    assert answer["old"] is True


def test_what_was_left_out_of_it_is_named(told: Told) -> None:
    words, answer = told(notes(days_ago=1, left_out=(LEFT_OUT[0], LEFT_OUT[5])))
    assert "without temperature, contact drop" in words
    assert answer["left_out"] == ["temperature", "contact drop"]


def test_a_board_that_keeps_none_says_how_to_make_one(told: Told) -> None:
    words, answer = told(EMPTY)
    assert words == "none; make one: pulldrop calibrate"
    assert (answer["memory"], answer["taken_at"], answer["trouble"]) == (True, None, "")


def test_a_board_without_a_memory_says_that(told: Told) -> None:
    words, answer = told(b"")
    assert words == "this board has no memory for one"
    assert answer["memory"] is False


def test_a_damaged_one_and_one_of_another_board_are_no_calibration_and_say_why(told: Told) -> None:
    whole = notes(days_ago=1)
    damaged, answer = told(whole[:40] + bytes([whole[40] ^ 1]) + whole[41:])
    assert "is damaged" in damaged and answer["taken_at"] is None
    other, answer = told(notes(days_ago=1, serial=REAL.serial + 1))
    assert f"of real board {REAL.serial + 1}" in other and answer["taken_at"] is None


def test_a_virtual_board_says_that_its_calibrations_are_in_the_store(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "info", "--board", "virtual"]) == 0
    assert "pulldrop calibrate show" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("ms", "line"), [(1.4, "1.4 ms there and back, quick"), (16.1, "16.1 ms there and back, slow")]
)
def test_the_round_trip_of_the_line_is_told_in_ms(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], ms: float, line: str
) -> None:
    @contextmanager
    def open_board(*_: object) -> Iterator[Board]:
        with VirtualBoard(instruments.empty(), None) as board:
            board.identity = REAL.model_copy(update={"round_trip_ms": ms})
            yield board

    monkeypatch.setattr(boards, "open_board", open_board)
    assert main(["board", "info"]) == 0
    assert line in " ".join(capsys.readouterr().out.split())
