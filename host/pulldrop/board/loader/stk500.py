"""The boot loader's side of the line: one Nano that was just reset, its signature, and pages of its flash.

Source: Atmel application note AVR061, "STK500 Communication Protocol", 2003 (version 1 of the protocol); signatures and
pages from the ATmega328P data sheet, DS40002061B, sections 27.3 and 27.5. Only flash is written: EEPROM, fuses and lock
bits stay.

Rule: until every other page is written and read back, page 0 holds a jump to itself. Whatever ends the writing, the
chip then starts into a program that drives no pin, never into half of one, but for the 21 ms in which page 0 itself is
erased and written, at the beginning and at the end.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Self

import serial

from pulldrop.board.errors import BoardError, NoBoard, WrongBoard
from pulldrop.board.link import Port
from pulldrop.board.serial import open_port

NEW_BAUD, OLD_BAUD = 115_200, 57_600
"""Of the boot loader that is required, and of the old one, which leaves the watchdog running after a reset by it."""
SPEEDS = (NEW_BAUD, NEW_BAUD, OLD_BAUD, OLD_BAUD)
"""In the order in which they are tried, each after a reset of its own."""
SIGNATURES = {bytes.fromhex("1e950f"): "ATmega328P", bytes.fromhex("1e9514"): "ATmega328"}
PAGE = 128
IDLE = b"\xff\xcf".ljust(PAGE, b"\xff")
"""Page 0 while the others are not whole: `rjmp .-2`."""

END, IN_SYNC, OK = b"\x20", 0x14, 0x10
SYNC, ENTER, LEAVE, ADDRESS = b"\x30", b"\x50", b"\x51", b"\x55"
WRITE, READ, SIGNATURE, FLASH = b"\x64", b"\x74", b"\x75", b"F"

PULSE_S, UP_S = 0.1, 0.1
"""How long the reset is given, and how long the boot loader then takes until its receiver is on."""
SYNC_S = (1.0, 0.5)
"""How long an answer to the first and the second sync is awaited. The boot loader may first flash its lamp for 0.4 s,
during which its receiver keeps the two bytes of one sync and no more; it starts the firmware after 1 s of silence."""
ANSWER_S = 2.0
"""For any other answer: a page takes 12 ms on the line and 9 ms in the flash; an emulated chip may be starved."""
QUIET_S = 0.1
STALE = 4096
"""Bytes that may still come from what ran before the reset."""


class LoaderError(BoardError):
    """The boot loader did not do what it was asked to, or the line to it broke."""


class Loader:
    """One boot loader that listens at `baud`. Every method may raise LoaderError."""

    def __init__(self, port: Port, name: str, baud: int, clock: Callable[[], float] = time.monotonic) -> None:
        self.name, self.baud, self.heard = name, baud, False
        self._port, self._clock = port, clock

    @classmethod
    @contextmanager
    def open(cls, device: str) -> Iterator[Self]:
        """Reset what is at a serial port until a boot loader answers. Raises NoBoard or WrongBoard."""
        heard = False
        for baud in SPEEDS:
            port = open_port(device, baud)
            try:
                reset(port)
                loader = cls(port, device, baud)
                if loader.sync():
                    yield loader
                    return
                heard = heard or loader.heard
            finally:
                with suppress(OSError):  # an unplugged port has nothing left to close
                    port.close()
        raise _nobody(device, heard)

    def sync(self) -> bool:
        """Whether a boot loader answers, just after a reset."""
        self._receive(STALE, UP_S)
        for patience in SYNC_S:
            self._send(SYNC + END)
            if self._receive(2, patience) == bytes([IN_SYNC, OK]):
                self._receive(2, QUIET_S)  # of the sync before, answered late
                self.ask(ENTER)
                return True
        return False

    def signature(self) -> bytes:
        """The three bytes by which the chip names its kind."""
        return self.ask(SIGNATURE, 3)

    def pages(self, image: bytes) -> int:
        """How often `write` yields."""
        return 2 * (len(_paged(image)) + 1)

    def write(self, image: bytes) -> Iterator[None]:
        """Write and read back every page of `image`, page 0 last; yields after each page that was written or read.

        Raises LoaderError when a page reads otherwise than it was written.
        """
        first, *others = _paged(image)
        yield from self._write({0: IDLE})
        yield from self._write({number: page for number, page in enumerate(others, 1)})
        yield from self._write({0: first})

    def leave(self) -> None:
        """Start the firmware."""
        self.ask(LEAVE)

    def _write(self, pages: dict[int, bytes]) -> Iterator[None]:
        for number, page in pages.items():
            self._go_to(number)
            self.ask(WRITE + PAGE.to_bytes(2) + FLASH + page)
            yield
        for number, page in pages.items():
            self._go_to(number)
            if self.ask(READ + PAGE.to_bytes(2) + FLASH, PAGE) != page:
                raise LoaderError(
                    f"Page {number} of the flash at {self.name} (address 0x{number * PAGE:04x}) reads otherwise than it"
                    " was written: it was damaged on the way, or the flash is worn out."
                )
            yield

    def _go_to(self, page: int) -> None:
        self.ask(ADDRESS + (page * PAGE // 2).to_bytes(2, "little"))  # in words

    def ask(self, command: bytes, length: int = 0) -> bytes:
        """What the boot loader answers between `in sync` and `ok`."""
        self._send(command + END)
        answer = self._receive(length + 2, ANSWER_S)
        if len(answer) < length + 2:
            raise LoaderError(
                f"The boot loader at {self.name} did not answer command 0x{command[0]:02x} within {ANSWER_S:.0f} s."
            )
        if answer[0] != IN_SYNC or answer[-1] != OK:
            raise LoaderError(
                f"The boot loader at {self.name} answered command 0x{command[0]:02x} with 0x{answer[0]:02x} and"
                f" 0x{answer[-1]:02x}; 0x{IN_SYNC:02x} and 0x{OK:02x} were expected. The line damages bytes."
            )
        return answer[1:-1]

    def _send(self, data: bytes) -> None:
        try:
            self._port.write(data)
        except OSError as error:
            raise self._lost(error) from error

    def _receive(self, count: int, patience_s: float) -> bytes:
        """So many bytes, or fewer when the time is over."""
        read, until = b"", self._clock() + patience_s
        while len(read) < count and self._clock() < until:
            try:
                read += self._port.read(count - len(read))
            except OSError as error:
                raise self._lost(error) from error
        self.heard = self.heard or bool(read)
        return read

    def _lost(self, error: OSError) -> LoaderError:
        return LoaderError(f"The line to the boot loader at {self.name} broke ({error.strerror or 'unplugged'}).")


def reset(port: serial.Serial) -> None:
    """Pull the Nano's reset, which hangs on DTR or on RTS; opening the port did it too, unless they were up before."""
    for up in (False, True):
        with suppress(OSError):  # a pseudo-terminal has no such lines
            port.dtr = port.rts = up
        if not up:
            time.sleep(PULSE_S)


def _paged(image: bytes) -> list[bytes]:
    return [image[at : at + PAGE].ljust(PAGE, b"\xff") for at in range(0, len(image), PAGE)]


def _nobody(device: str, heard: bool) -> BoardError:
    """Why nothing can be written."""
    tried = f"the boot loader of a Nano was expected, at {NEW_BAUD} baud (or {OLD_BAUD}, an old one)"
    if heard:
        return WrongBoard(
            f"Something at {device} sends bytes, but it is no boot loader; {tried}. Nothing was written. Choose the"
            " Nano's port with --board; 'pulldrop board list' shows the boards that answer."
        )
    return NoBoard(
        f"No boot loader answered at {device}; {tried}. Nothing was written. Check that it is the Nano's port, the"
        " cable and the supply. If they are right, the Nano has no boot loader: put one on it with an ISP programmer"
        " (hardware/guide.md, stage 1)."
    )
