"""Frames: bytes in, frames out, and back; what is inside a frame is the codec's business.

Rule 1: no I/O and no clock here; bytes may come in any pieces, one at a time too.
Rule 2: a frame is COBS(content, CRC-16/XMODEM of the content, low byte first) closed by 0x00 (firmware/wire.yaml).
Rule 3: what fails a check is dropped whole and counted; reading goes on after the next 0x00.
Rule 4: a frame is sent between two 0x00, so that a byte lost in one never costs the next; an empty one is nothing.

A CRC of 16 bits finds every damage that leaves at most 16 neighbouring bits of the content wrong. Damage that shifts
bytes (a lost byte, a changed COBS code) gets past it once in about 65,536 such frames.
"""

from binascii import crc_hqx

from cobs import cobs

from pulldrop.wire.messages import LONGEST_FRAME

DELIMITER = b"\x00"
LEAST_CONTENT = 2  # sequence and id
LONGEST_CONTENT = LONGEST_FRAME - 2
LONGEST_ENCODED = LONGEST_FRAME + 1  # COBS adds one byte to anything below 254 bytes


def frame(content: bytes) -> bytes:
    """The bytes to send for one content of 2..62 bytes."""
    if not LEAST_CONTENT <= len(content) <= LONGEST_CONTENT:
        raise ValueError(f"a frame holds {LEAST_CONTENT} to {LONGEST_CONTENT} bytes, not {len(content)}")
    encoded: bytes = cobs.encode(content + crc(content))
    return DELIMITER + encoded + DELIMITER


def crc(content: bytes) -> bytes:
    """CRC-16/XMODEM, low byte first."""
    return crc_hqx(content, 0).to_bytes(2, "little")


class Frames:
    """Collects bytes until they are frames. `damaged` counts what was dropped."""

    def __init__(self) -> None:
        self.damaged = 0
        self._pending = bytearray()
        self._overlong = False

    def feed(self, data: bytes) -> list[bytes]:
        """The contents that `data` completes, in order, checked and without their CRC."""
        *ended, rest = data.split(DELIMITER)
        found = []
        for piece in ended:
            self._collect(piece)
            content = self._close()
            if content is not None:
                found.append(content)
        self._collect(rest)
        return found

    def _collect(self, piece: bytes) -> None:
        room = LONGEST_ENCODED - len(self._pending)
        self._overlong = self._overlong or len(piece) > room
        self._pending += piece[:room]

    def _close(self) -> bytes | None:
        encoded, overlong = bytes(self._pending), self._overlong
        self._pending.clear()
        self._overlong = False
        if not encoded:
            return None
        content = None if overlong else _checked(encoded)
        if content is None:
            self.damaged += 1
        return content


def _checked(encoded: bytes) -> bytes | None:
    try:
        whole = cobs.decode(encoded)
    except cobs.DecodeError:
        return None
    content, check = whole[:-2], whole[-2:]
    return content if len(content) >= LEAST_CONTENT and check == crc(content) else None
