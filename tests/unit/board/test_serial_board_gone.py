"""A board that restarts, is unplugged or exchanged: noticed before anything is believed; exact dialogues."""

import pytest
from scripted_port import DRIVE, GREETING, IDLE, ON, SUPPLY_SUM, ScriptedPort, opened, talk

from pulldrop.board.errors import (
    BoardLost,
    BoardReset,
    NoAnswer,
    NoBoard,
    WrongBoard,
)
from pulldrop.board.request_types import Stairs
from pulldrop.board.serial import SerialBoard
from pulldrop.model.raw import Contact
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result

STAIRS = Stairs(DRIVE, step=7, count=200, dwell_ms=50, watch=Contact.NO, wanted=Contact.NO)
STAIRCASE = (1638, 0, 3, 500, 600, 7, 200, 50, 1, 1)
AT_WORK = {"work": wire.STAIRCASE.id, "outputs": 1}


def test_a_board_that_falls_silent_at_work_is_told_off_and_the_run_is_over() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).status(**AT_WORK)
    for _ in range(30):  # three seconds, ten times a second
        port.host(wire.STATUS)
    for _ in ("given up", "again", "closing", "again"):
        port.host(wire.ALL_OFF)
    with pytest.raises(NoAnswer, match="its lease turns everything off within 500 ms"):
        talk(port, lambda board: board.staircase(STAIRS))
    port.finish()


def test_a_board_that_restarts_at_work_ends_the_run() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).status(**AT_WORK).status(start=8, uptime_ms=1090).closing()
    with pytest.raises(BoardReset, match=r"restarted during the run \(start 8 at 1090 ms, was 4242 at 1000 ms\)"):
        talk(port, lambda board: board.staircase(STAIRS))
    port.finish()


def test_a_reset_between_two_requests_is_noticed_before_a_measurement_is_believed() -> None:
    port = ScriptedPort().host(wire.SENSE_COIL).board(0, 0).status(start=8).closing()
    with pytest.raises(BoardReset):
        talk(port, SerialBoard.sense_coil)
    port.finish()


def test_a_restart_is_noticed_by_the_board_s_clock_where_its_start_number_is_the_same() -> None:
    """As with a worn EEPROM, and RAM that holds after power-on what it held before."""
    port = ScriptedPort().status(uptime_ms=3000).host(wire.SENSE_COIL).board(0, 0).status(uptime_ms=2999).closing()
    with pytest.raises(BoardReset, match=r"start 4242 at 2999 ms, was 4242 at 3000 ms"):
        talk(port, SerialBoard.status, SerialBoard.sense_coil)
    port.finish()


def test_unplugged_at_work_is_a_lost_board() -> None:
    port = ScriptedPort().host(wire.STAIRCASE, *STAIRCASE).status(**AT_WORK).unplugged()
    with pytest.raises(BoardLost, match=r"line to the board at COM7 broke .*Plug it in again"):
        talk(port, lambda board: board.staircase(STAIRS))
    assert port.closed


def test_unplugged_in_the_middle_of_an_answer_is_a_lost_board() -> None:
    port = ScriptedPort().host(wire.STATUS)
    port.bytes(port.answer(tuple(IDLE.values()))[:6]).unplugged()
    with pytest.raises(BoardLost):
        talk(port, SerialBoard.status)
    assert port.closed


def test_unplugged_before_sending_is_a_lost_board() -> None:
    with pytest.raises(BoardLost):
        talk(ScriptedPort().unplugged(), lambda board: board.hold_coil(DRIVE))


def test_a_reading_of_a_slow_channel_is_not_believed_after_a_restart() -> None:
    port = ScriptedPort().host(wire.SENSE_ANALOG, 1).board(8000).status(start=1).closing()
    with pytest.raises(BoardReset):
        talk(port, lambda board: board.sense_analog(1))
    port.finish()


def test_an_order_that_a_restarted_board_refuses_is_told_as_a_restart() -> None:
    port = ScriptedPort().host(wire.HOLD_COIL, *ON).refuses(Result.NOT_BEGUN).status(start=1).closing()
    with pytest.raises(BoardReset, match="restarted during the run"):
        talk(port, lambda board: board.hold_coil(DRIVE))
    port.finish()


def test_a_board_that_restarts_between_greeting_and_beginning_is_told_as_a_restart() -> None:
    port = ScriptedPort(greeted=False).host(wire.GREET).board(*GREETING)
    port.host(wire.BEGIN, IDLE["start"]).refuses(Result.NOT_BEGUN).host(wire.ALL_OFF).board().status(start=1)
    with pytest.raises(BoardReset):
        opened(port)
    port.finish()


def test_a_line_that_comes_back_is_opened_anew_with_everything_off() -> None:
    first, second = ScriptedPort().unplugged(), ScriptedPort().closing().status().closing()
    asked: list[str] = []

    def again(name: str) -> ScriptedPort:
        asked.append(name)
        if len(asked) == 1:
            raise NoBoard("There is no port (invented).")
        return second

    with SerialBoard(first, "ttyX", first.clock, first.clock.sleep, again) as board:
        with pytest.raises(BoardLost):
            board.hold_coil(DRIVE)
        with pytest.raises(NoBoard):
            board.reopen()
        board.reopen()
        assert board.status().uptime_ms == IDLE["uptime_ms"]
    assert asked == ["ttyX", "ttyX"]
    assert first.closed
    second.finish()


def test_another_board_at_the_port_is_not_taken_for_the_one_that_was_there() -> None:
    first, other = ScriptedPort().unplugged(), ScriptedPort(greeted=False)
    greeting = (*GREETING[:2], GREETING[2] + 1, *GREETING[3:])
    other.host(wire.GREET).greets(*greeting).host(wire.SENSE_ANALOG, 2).board(SUPPLY_SUM)
    board = SerialBoard(first, "ttyX", first.clock, first.clock.sleep, lambda _name: other)
    with pytest.raises(WrongBoard, match=r"real board 43 .*expected was real board 42"):
        board.reopen()
    other.finish()
