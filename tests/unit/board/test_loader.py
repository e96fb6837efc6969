"""The file of the firmware, the port that it goes through, and a boot loader that answers nonsense."""

import io
from collections.abc import Iterator
from itertools import count

import pytest
from rich.console import Console

from pulldrop.board import ports
from pulldrop.board.errors import NoBoard
from pulldrop.board.loader import image
from pulldrop.board.loader.stk500 import NEW_BAUD, Loader, LoaderError, reset
from pulldrop.cli.main import main
from pulldrop.cli.show.testing.board import writing

LINE = ":0300300002337A1E"
"""The example of the format's description: three bytes at 0x30."""
END = ":00000001FF"


def test_a_record_stands_at_its_address_and_a_gap_is_erased_flash() -> None:
    assert image.parse(f"; invented\n{LINE}\n{END}\n") == b"\xff" * 0x30 + bytes.fromhex("02337a")


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        (f"{LINE[:-1]}F\n{END}", "line 1: no whole record"),
        (f"{LINE[:-2]}\n{END}", "line 1: no whole record"),
        (f"{LINE[1:]}\n{END}", "line 1: no whole record"),
        ("pulldrop", "line 1: no whole record"),
        ("", "cut off, or empty"),
        (END, "cut off, or empty"),
        (LINE, "cut off, or empty"),
        (f"{LINE}\n{END}\n{LINE}", "line 3: a record behind the end"),
        (f"{LINE}\n:020000021000EC\n{END}", "line 2: a record of type 2"),
        (f"{LINE}\n:016FFF000091\n{END}", ""),
        (f"{LINE}\n:0170000000 8F\n{END}".replace(" ", ""), "line 2: address 0x7000 lies in the boot loader"),
    ],
)
def test_a_file_that_is_not_whole_or_reaches_the_boot_loader_is_refused(text: str, complaint: str) -> None:
    if not complaint:
        assert len(image.parse(text)) == image.ROOM
        return
    with pytest.raises(image.BadImage, match=complaint):
        image.parse(text)


class Scripted:
    """A port that answers the same to everything."""

    in_waiting = 0

    def __init__(self, answer: bytes) -> None:
        self._answer, self.sent = answer, b""

    def read(self, size: int, /) -> bytes:
        return self._answer[:size]

    def write(self, data: bytes, /) -> int:
        self.sent += data
        return len(data)

    def close(self) -> None:
        pass


def ticks() -> Iterator[float]:
    return (0.01 * tick for tick in count())


def loader(answer: bytes) -> Loader:
    return Loader(Scripted(answer), "COM7", NEW_BAUD, ticks().__next__)


def test_an_answer_between_wrong_marks_is_not_taken() -> None:
    with pytest.raises(LoaderError, match="0x75 with 0x14 and 0x11; 0x14 and 0x10 were expected"):
        loader(bytes.fromhex("141e950f11")).signature()


def test_a_silent_boot_loader_is_not_waited_for() -> None:
    with pytest.raises(LoaderError, match="at COM7 did not answer command 0x75 within 2 s"):
        loader(b"").signature()


def test_what_was_sent_before_is_drained_and_echoes_are_no_answer() -> None:
    echo = loader(b"\x30\x20")
    assert not echo.sync() and echo.heard


class Lines:
    """The modem lines of a port, as they were set."""

    def __init__(self) -> None:
        self.__dict__["seen"] = list[tuple[str, bool]]()

    def __setattr__(self, name: str, value: bool) -> None:
        self.__dict__["seen"].append((name, value))


def test_a_reset_pulls_both_lines_and_lets_them_go() -> None:
    lines = Lines()
    reset(lines)  # type: ignore[arg-type]  # what it uses of a port
    assert lines.__dict__["seen"] == [("dtr", False), ("rts", False), ("dtr", True), ("rts", True)]


@pytest.mark.parametrize(
    ("found", "sentence"), [([], "No serial port with USB"), (["COM3", "COM7"], r"several .*COM3, COM7.*--board")]
)
def test_a_port_is_never_guessed(monkeypatch: pytest.MonkeyPatch, found: list[str], sentence: str) -> None:
    monkeypatch.setattr(ports, "candidates", lambda: found)
    with pytest.raises(NoBoard, match=sentence):
        ports.only()


def test_the_only_port_with_usb_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ports, "candidates", lambda: ["COM7"])
    assert ports.only() == "COM7"


@pytest.mark.parametrize("board", ["virtual", "emulated-bare", "/dev/no_such_port"])
def test_what_is_no_port_is_refused(board: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "flash", "--board", board]) == 2
    assert board in capsys.readouterr().err


@pytest.mark.parametrize("terminal", [True, False])
def test_its_progress_is_shown_where_a_line_may_be_redrawn(monkeypatch: pytest.MonkeyPatch, terminal: bool) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    shown = io.StringIO()
    with writing(Console(file=shown, force_terminal=terminal, width=100)) as step:
        step(66, 264)
    assert ("25%" in shown.getvalue()) is terminal
