"""`pulldrop board flash` through real boot loaders in an emulated chip, behind a pseudo-terminal."""

import json
import os
import pty
import random
import threading
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from nano_on_cable import Nano, Workshop

from pulldrop.board.errors import NoBoard, WrongBoard
from pulldrop.board.loader import image
from pulldrop.board.loader.stk500 import IDLE, NEW_BAUD, PAGE, SIGNATURES, Loader, LoaderError
from pulldrop.board.serial import SerialBoard, open_port
from pulldrop.cli.main import main
from pulldrop.emulator.memory import eeprom
from pulldrop.jobs import flash as job

NOTES_AT, STARTS = 256, (*range(32, 36), 52)
"""Of the EEPROM: where notes begin, and what the firmware writes at a start (how many, whether its load is cold)."""
PACKAGED = image.packaged()
LAST_VECTOR = slice(100, 104)
"""Of an interrupt that is never let on (store program memory ready): our older firmware differs in it alone."""
SMALL = bytes(range(256)) * 3
"""Six pages."""


def older() -> bytes:
    return PACKAGED[: LAST_VECTOR.start] + b"\0" * 4 + PACKAGED[LAST_VECTOR.stop :]


def kept() -> bytes:
    """The EEPROM of a board with number 17 (simulated) and notes as a calibration leaves them."""
    return eeprom(17).ljust(NOTES_AT, b"\xff") + random.Random(18).randbytes(700)


def flash(nano: Nano, *more: str) -> int:
    return main(["board", "flash", "--board", nano.port, *more])


def said(capsys: pytest.CaptureFixture[str]) -> str:
    told = capsys.readouterr()
    return " ".join((told.out + told.err).split())


def test_the_whole_firmware_is_written_through_the_newer_boot_loader_and_the_eeprom_stays(
    workshop: Workshop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Nano(workshop, workshop.newer, tmp_path, older(), kept()) as nano:
        before, kept_before = nano.memories()
        assert flash(nano) == 0
        after, kept_after = nano.memories()
    assert after[: len(PACKAGED)] == PACKAGED != before[: len(PACKAGED)]
    assert after[len(PACKAGED) + PAGE :] == before[len(PACKAGED) + PAGE :], "the boot loader, and all else"
    assert {at for at in range(1024) if kept_after[at] != kept_before[at]} <= set(STARTS)
    told = said(capsys)
    assert "SIMULATED" in told, "its EEPROM says so"
    assert f"Firmware {image.VERSION} is written at {nano.port} and verified: {len(PACKAGED)} bytes" in told
    assert "Its number (17) and the calibration that it keeps are as before." in told


def test_another_chip_is_refused_before_anything_is_written(
    workshop: Workshop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Nano(workshop, workshop.smaller, tmp_path, SMALL) as nano:
        before = nano.memories()
        assert flash(nano) == 2
        assert nano.memories() == before
    told = said(capsys)
    assert "signature is 1e 94 06" in told and "1e 95 0f (ATmega328P)" in told and "Nothing was written" in told


def test_a_chip_of_the_same_memories_is_admitted(workshop: Workshop, tmp_path: Path) -> None:
    with Nano(workshop, workshop.alike, tmp_path) as nano, Loader.open(nano.port) as loader:
        assert SIGNATURES[loader.signature()] == "ATmega328" and loader.baud == NEW_BAUD


@pytest.mark.slow
def test_an_old_boot_loader_is_refused_unless_it_is_allowed(
    workshop: Workshop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Nano(workshop, workshop.old, tmp_path, older()) as nano:
        before = nano.memories()[0]
        assert flash(nano) == 2
        assert nano.memories()[0] == before
        told = said(capsys)
        assert "old boot loader (57600 baud; 115200 are required)" in told and "Nothing was written" in told
        assert "watchdog running after a watchdog reset, and that hangs the board for good" in told
        assert "ISP programmer (hardware/guide.md, stage 1)" in told and "--old-loader" in told
        assert flash(nano, "--old-loader", "--json") == 0
        after = nano.memories()[0]
    assert after[: len(PACKAGED)] == PACKAGED and after[0x7800:] == before[0x7800:]
    answer = json.loads(capsys.readouterr().out)
    assert answer["board"]["firmware"] == image.VERSION and answer["board"]["old_loader"] is True


@pytest.mark.parametrize("comes_back", [True, False], ids=["newer", "old"])
def test_a_hanging_firmware_restarts_by_its_watchdog_and_through_the_old_boot_loader_never(
    workshop: Workshop, tmp_path: Path, comes_back: bool
) -> None:
    kind = workshop.newer if comes_back else workshop.old
    with Nano(workshop, kind, tmp_path, PACKAGED, kept()) as nano:
        with SerialBoard.open(nano.port):
            pass
        before = nano.memories()[1]
        assert nano.driven() > 10, "the firmware runs"
        nano.tell("hang")
        until = time.monotonic() + 10
        while nano.driven() > 10 and nano.memories()[1] == before and time.monotonic() < until:
            time.sleep(0.01)
        time.sleep(1)
        driven = [(nano.driven(), time.sleep(0.005))[0] for _ in range(100)]
        assert (min(driven) > 10) is (max(driven) > 10) is comes_back
        assert (nano.memories()[1] != before) is comes_back, "it counts its starts"


@pytest.mark.slow
def test_unplugged_half_way_it_says_what_to_do_and_doing_it_heals(
    workshop: Workshop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Nano(workshop, workshop.newer, tmp_path, older(), kept()) as nano:
        with SerialBoard.open(nano.port):
            assert nano.driven() > 10, "what runs now has outputs"
        nano.tell("cut 9000")
        assert flash(nano) == 2
        told = said(capsys)
        assert "broke" in told and "not whole" in told and "run 'pulldrop board flash' again" in told
        nano.plug()
        time.sleep(0.3)
        half = nano.memories()[0]
        assert half[:PAGE] == IDLE and half[PAGE : 40 * PAGE] == PACKAGED[PAGE : 40 * PAGE]
        assert nano.driven() == 0, "no pin, so nothing is energised"
        assert flash(nano) == 0
        assert nano.memories()[0][: len(PACKAGED)] == PACKAGED
    assert "number and calibration could not be compared" in said(capsys)


@pytest.mark.parametrize(
    ("how", "page"), [("bend 160", 1), ("wear 0x181", 3)], ids=["damaged on the way", "worn out flash"]
)
def test_a_page_that_reads_otherwise_than_it_was_written_is_found(
    workshop: Workshop, tmp_path: Path, how: str, page: int
) -> None:
    with Nano(workshop, workshop.newer, tmp_path) as nano, Loader.open(nano.port) as loader:
        nano.tell(how)
        with pytest.raises(LoaderError, match=rf"^Page {page} .* \(address 0x0{page * PAGE:03x}\) reads otherwise"):
            list(loader.write(SMALL))
        assert nano.memories()[0][:PAGE] == IDLE, "it does not start"


def test_each_page_is_written_and_read_once_and_the_first_comes_last(workshop: Workshop, tmp_path: Path) -> None:
    with Nano(workshop, workshop.newer, tmp_path) as nano, Loader.open(nano.port) as loader:
        steps = loader.write(SMALL)
        early = [nano.memories()[0][:PAGE] for _ in zip(range(12), steps, strict=False)]
        assert set(early) == {IDLE}
        assert 12 + len(list(steps)) == loader.pages(SMALL)
        assert nano.memories()[0][: len(SMALL)] == SMALL


def test_a_byte_lost_in_a_command_ends_the_writing_with_a_sentence(workshop: Workshop, tmp_path: Path) -> None:
    with Nano(workshop, workshop.newer, tmp_path) as nano, Loader.open(nano.port) as loader:
        nano.tell("bend 3")  # the end of a command
        with pytest.raises(LoaderError, match="did not answer command 0x55 within 2 s"):
            list(loader.write(SMALL))


def test_a_chip_without_a_boot_loader_says_nothing(workshop: Workshop, tmp_path: Path) -> None:
    with (
        Nano(workshop, workshop.none, tmp_path, PACKAGED) as nano,
        pytest.raises(NoBoard, match=rf"No boot loader answered at {nano.port}.*Nothing was written.*ISP programmer"),
        Loader.open(nano.port),
    ):
        pass


@contextmanager
def chatter() -> Iterator[str]:
    """A port at which something speaks all the time, and hears nothing."""
    ours, theirs = pty.openpty()
    tty.setraw(theirs)
    over = threading.Event()

    def speak() -> None:
        while not over.wait(0.01):
            os.write(ours, b"$GPRMC,081836,A,3751.65,S\r\n")

    speaker = threading.Thread(target=speak)
    speaker.start()
    try:
        yield os.ttyname(theirs)
    finally:
        over.set()
        speaker.join()
        os.close(ours)
        os.close(theirs)


def test_something_else_that_speaks_is_no_boot_loader() -> None:
    with chatter() as port, pytest.raises(WrongBoard, match="sends bytes, but it is no boot loader"), Loader.open(port):
        pass


def test_a_port_that_another_program_holds_is_left_alone(
    workshop: Workshop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Nano(workshop, workshop.newer, tmp_path, older()) as nano:
        held = open_port(nano.port)
        assert flash(nano) == 2
        held.close()
        assert nano.memories()[0][: len(PACKAGED)] == older()
    assert "Another program holds the port" in said(capsys)


def test_ctrl_c_half_way_says_what_to_do(workshop: Workshop, tmp_path: Path) -> None:
    def stop(done: int, of: int) -> None:
        if done == 8:
            raise KeyboardInterrupt

    with Nano(workshop, workshop.newer, tmp_path, older()) as nano:
        with pytest.raises(LoaderError, match=r"Interrupted while .* not whole.*run 'pulldrop board flash' again"):
            job.flash(nano.port, False, stop)
        assert nano.memories()[0][:PAGE] == IDLE


class NoWriting:
    """In place of a boot loader: `meanwhile` happens, and the flash stays as it is."""

    baud, name = NEW_BAUD, "here"

    def __init__(self, nano: Nano, number: int) -> None:
        self._nano, self._number = nano, number

    @contextmanager
    def open(self, device: str) -> Iterator["NoWriting"]:
        if self._number:
            with SerialBoard.open(device) as board:
                board.name(self._number)
        yield self

    def signature(self) -> bytes:
        return next(iter(SIGNATURES))

    def write(self, firmware: bytes) -> Iterator[None]:
        return iter(())

    def leave(self) -> None:
        pass


@pytest.mark.parametrize(
    ("version", "number", "sentence"),
    [
        ("9.9.9", 0, "says that its firmware is 0.1.0; 9.9.9 was written"),
        (image.VERSION, 99, "number or calibration changed meanwhile .number 17 before, 99 now"),
        (image.VERSION, 0, ""),
    ],
)
def test_a_board_that_greets_otherwise_than_it_should_is_reported(
    workshop: Workshop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, version: str, number: int, sentence: str
) -> None:
    with Nano(workshop, workshop.newer, tmp_path, PACKAGED, kept()) as nano:
        monkeypatch.setattr(image, "VERSION", version)
        monkeypatch.setattr(job, "Loader", NoWriting(nano, number))
        if sentence:
            with pytest.raises(LoaderError, match=sentence):
                job.flash(nano.port, False, lambda done, of: None)
        else:
            assert job.flash(nano.port, False, lambda done, of: None).kept
