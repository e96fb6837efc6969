"""Frames: bytes in, frames out, and back; what is inside a frame is the codec's business.

Rule 1: no I/O and no clock here; bytes may come in any pieces, one at a time too.
Rule 2: a frame is content and CRC in sextets between two delimiters (firmware/wire.yaml).
Rule 3: what fails a check is dropped whole and counted; reading goes on after the next delimiter.
Rule 4: a frame is sent between two delimiters, so that a lost byte never costs the next; an empty one is nothing.

No single flipped bit gives another frame, wherever it is: it makes no delimiter of a byte and no sextet of a delimiter,
and the CRC, sent in the order of its own division, finds every damage that leaves at most 16 neighbouring bits of the
stream wrong, content and CRC alike; so any damaged sextet too.
A lost byte shifts the stream; that gets past the CRC once in about 65,536 such frames.
"""

from base64 import b64decode, b64encode

from pulldrop.wire.messages import (
    CRC_FINAL,
    CRC_INIT,
    CRC_POLYNOMIAL,
    FRAME_DELIMITER,
    FRAME_LONGEST,
    FRAME_MARK,
    FRAME_SHORTEST,
)

DELIMITER = bytes([FRAME_DELIMITER])
CRC_BYTES = 2
LEAST_CONTENT, LONGEST_CONTENT = FRAME_SHORTEST - CRC_BYTES, FRAME_LONGEST - CRC_BYTES
LONGEST_ENCODED = (FRAME_LONGEST * 8 + 5) // 6
_BASE64 = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
_SEXTETS = bytes(FRAME_MARK | value for value in range(64))
_TO_SEXTETS, _TO_BASE64 = bytes.maketrans(_BASE64, _SEXTETS), bytes.maketrans(_SEXTETS, _BASE64)


def frame(content: bytes) -> bytes:
    """The bytes to send for one content of 2..62 bytes."""
    if not LEAST_CONTENT <= len(content) <= LONGEST_CONTENT:
        raise ValueError(f"a frame holds {LEAST_CONTENT} to {LONGEST_CONTENT} bytes, not {len(content)}")
    return DELIMITER + sextets(content + crc(content)) + DELIMITER


def sextets(data: bytes) -> bytes:
    """Six bits a byte, as Base64 without padding, in another alphabet."""
    return b64encode(data).rstrip(b"=").translate(_TO_SEXTETS)


def crc(content: bytes) -> bytes:
    """CRC-16/GENIBUS, high byte first: the order of its bits in the stream."""
    value = CRC_INIT
    for byte in content:
        value = (value << 8 & 0xFFFF) ^ _TABLE[value >> 8 ^ byte]
    return (value ^ CRC_FINAL).to_bytes(CRC_BYTES, "big")


def _crc_of_byte(byte: int) -> int:
    value = byte << 8
    for _ in range(8):
        value = value << 1 ^ (CRC_POLYNOMIAL if value & 0x8000 else 0)
    return value & 0xFFFF


_TABLE = [_crc_of_byte(byte) for byte in range(256)]


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
    if min(encoded) < FRAME_MARK or len(encoded) % 4 == 1:
        return None
    whole = b64decode(encoded.translate(_TO_BASE64) + b"==")
    content, check = whole[:-CRC_BYTES], whole[-CRC_BYTES:]
    right = len(content) >= LEAST_CONTENT and check == crc(content) and sextets(whole) == encoded
    return content if right else None
