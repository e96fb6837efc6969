"""The firmware as bytes, from the Intel HEX file that `make -C firmware package` puts beside this file.

Source of the format: Intel, "Hexadecimal Object File Format Specification", revision A, 1988.
"""

from pathlib import Path

PACKAGED = Path(__file__).with_name("firmware.hex")
VERSION = "0.1.0"
"""What the packaged firmware says of itself in its greeting (firmware/core/board.c; a test compares)."""
ROOM = 0x7000
"""Bytes below every boot loader of a Nano: the largest boot section of an ATmega328P has 4 KiB."""
DATA, END, START = 0x00, 0x01, (0x03, 0x05)
"""Types of records; those that say where a program starts hold nothing to write."""


class BadImage(Exception):
    """The file is no firmware for a Nano; the message says in which line."""


def packaged() -> bytes:
    """The firmware of this version, from address 0 on."""
    return parse(PACKAGED.read_text(encoding="ascii"))


def parse(text: str) -> bytes:
    """Bytes from address 0 on, gaps filled with 0xff. A line that begins with `;` is a comment. Raises BadImage."""
    image = bytearray()
    ended = False
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith(";"):
            continue
        kind, address, data = _record(line, number)
        if ended:
            raise BadImage(f"line {number}: a record behind the end")
        if kind == DATA:
            if address + len(data) > ROOM:
                raise BadImage(f"line {number}: address 0x{address:04x} lies in the boot loader")
            image.extend(b"\xff" * (address + len(data) - len(image)))
            image[address : address + len(data)] = data
        elif kind == END:
            ended = True
        elif kind not in START:
            raise BadImage(f"line {number}: a record of type {kind}; an address is beyond the Nano's flash")
    if not ended or not image:
        raise BadImage("the file is cut off, or empty")
    return bytes(image)


def _record(line: str, number: int) -> tuple[int, int, bytes]:
    """Type, address and data of one line: colon, count, address, type, data, and a sum that makes all of it 0."""
    try:
        count, high, low, kind, *data = bytes.fromhex(line.removeprefix(":"))
    except ValueError:
        count, high, low, kind, data = 0, 0, 0, 0, []
    if not line.startswith(":") or len(data) != count + 1 or (count + high + low + kind + sum(data)) % 256:
        raise BadImage(f"line {number}: no whole record")
    return kind, high << 8 | low, bytes(data[:-1])
