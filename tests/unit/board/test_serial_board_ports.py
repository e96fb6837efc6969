"""Finding a board: which ports are tried, what is said when there is none, and why a port does not open."""

import fcntl
import os
import pty
from pathlib import Path
from types import SimpleNamespace

import pytest
from scripted_port import ScriptedPort, opened
from serial import SerialException
from serial.tools import list_ports

from pulldrop.board import ports
from pulldrop.board.errors import BoardLost, NoBoard, WrongBoard
from pulldrop.board.link import Link
from pulldrop.board.serial import SerialBoard, open_port
from pulldrop.wire.messages import STATUS


def _open(name: str) -> SerialBoard:
    if name == "COM3":
        return opened(ScriptedPort().closing())
    if name == "COM4":
        raise WrongBoard("Something at COM4 sends bytes.")
    raise NoBoard(f"Nothing at {name} answered.")


def test_only_ports_with_usb_behind_them_are_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    listed = [("COM9", 0x1A86), ("COM1", None), ("COM3", 0x0403)]
    monkeypatch.setattr(list_ports, "comports", lambda: [SimpleNamespace(device=d, vid=vid) for d, vid in listed])
    assert ports.candidates() == ["COM3", "COM9"]


def test_every_board_that_answers_is_told() -> None:
    (identity,) = ports.find(["COM1", "COM3", "COM4"], _open)
    assert identity.serial == 42


def test_without_a_board_each_port_is_told_with_its_reason() -> None:
    with pytest.raises(NoBoard, match=r"No pulldrop board was found\. Nothing at COM1 .* Something at COM4"):
        ports.find(["COM1", "COM4"], _open)


def test_without_any_port_the_way_on_is_told() -> None:
    with pytest.raises(NoBoard, match=r"Plug the board in.*--board virtual"):
        ports.find([], _open)


def test_a_port_that_is_not_there_is_no_board() -> None:
    with pytest.raises(NoBoard, match=r"There is no port /dev/no_such_port\..*pulldrop board list"):
        open_port("/dev/no_such_port")


def test_a_file_is_no_board(tmp_path: Path) -> None:
    file = tmp_path / "notes.txt"
    file.write_text("not a port")
    with pytest.raises(NoBoard, match="cannot be opened as a serial port"):
        open_port(str(file))


def test_a_port_that_another_program_holds_is_no_board() -> None:
    master, slave = pty.openpty()
    try:
        fcntl.flock(slave, fcntl.LOCK_EX)
        with pytest.raises(NoBoard, match="Another program holds the port"):
            open_port(os.ttyname(slave))
    finally:
        os.close(master)
        os.close(slave)


def test_where_the_system_can_a_port_is_asked_not_to_hold_answers_back(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []

    class Quick:
        def __init__(self, *_: object, **__: object) -> None: ...

        def set_low_latency_mode(self, quick: bool) -> None:
            asked.append(quick)
            raise ValueError("a port without such a mode")

    monkeypatch.setattr("pulldrop.board.serial.serial.Serial", Quick)
    assert isinstance(open_port("COM7"), Quick)
    assert asked == [True]


def test_what_a_lost_board_says_is_for_a_person() -> None:
    class Gone(ScriptedPort):
        def write(self, data: bytes, /) -> int:
            raise SerialException("device reports readiness to read but returned no data (multiple access on port?)")

    with pytest.raises(BoardLost, match=r"at PORT broke \(unplugged, or another program reads there too\)\. The board"):
        Link(Gone(), "PORT", lambda: 0.0).send(STATUS)


def test_a_terminal_that_goes_away_is_a_lost_board() -> None:
    """Through a real pseudo-terminal and pyserial: the other end is closed."""
    master, slave = pty.openpty()
    port = open_port(os.ttyname(slave))
    os.close(slave)
    os.close(master)
    with pytest.raises(BoardLost, match="broke"):
        SerialBoard(port, "pty")
    assert not port.is_open
