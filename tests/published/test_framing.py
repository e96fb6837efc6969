"""The wire's checks and sextets against published vectors, in the host's Python and in the firmware's C.

CRC-16/GENIBUS (frames) and CRC-16/XMODEM (a calibration kept in a board): check values and parameters from the
catalogue of parametrised CRC algorithms.
Sextets: the test vectors of Base64 (RFC 4648, section 10), its alphabet exchanged for marked bytes in the same order.
"""

from datetime import UTC, datetime

import pytest
from native_frames import c_crc, c_frame, c_frames

from pulldrop.model.bench.calibration import nominal
from pulldrop.wire.frames import Frames, crc, frame, sextets
from pulldrop.wire.messages import CRC_FINAL, CRC_INIT, CRC_POLYNOMIAL
from pulldrop.wire.notes import pack

CHECK = (b"123456789", 0xD64E)
ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
BASE64 = [
    (b"", ""),
    (b"f", "Zg=="),
    (b"fo", "Zm8="),
    (b"foo", "Zm9v"),
    (b"foob", "Zm9vYg=="),
    (b"fooba", "Zm9vYmE="),
    (b"foobar", "Zm9vYmFy"),
]


def marked(base64: str) -> bytes:
    """The same sextets as marked bytes, unpadded."""
    return bytes(0b1100_0000 + ALPHABET.index(letter) for letter in base64.rstrip("="))


def test_the_check_has_its_published_parameters_and_value() -> None:
    data, check = CHECK
    assert (CRC_POLYNOMIAL, CRC_INIT, CRC_FINAL) == (0x1021, 0xFFFF, 0xFFFF)
    assert crc(data) == check.to_bytes(2, "big")
    assert c_crc(data) == check


def xmodem(data: bytes) -> int:
    """By its published parameters, bit by bit: polynomial 0x1021, begun with 0, neither reflected nor inverted."""
    left = 0
    for byte in data:
        left ^= byte << 8
        for _ in range(8):
            left = (left << 1 ^ (0x1021 if left & 0x8000 else 0)) & 0xFFFF
    return left


def test_a_kept_calibration_ends_with_the_published_check() -> None:
    assert [xmodem(data) for data in (b"123456789", b"A", b"")] == [0x31C3, 0x58E5, 0]
    record = pack(nominal(0).model_copy(update={"taken_at": datetime(2026, 5, 4, tzinfo=UTC)}), ())
    assert int.from_bytes(record[-2:], "little") == xmodem(record[:-2])


@pytest.mark.parametrize(("data", "base64"), BASE64)
def test_sextets_are_those_of_base64(data: bytes, base64: str) -> None:
    assert sextets(data) == marked(base64)


@pytest.mark.parametrize(("data", "base64"), [vector for vector in BASE64 if len(vector[0]) % 3 == 0 and vector[0]])
def test_the_firmware_sends_the_same_sextets(data: bytes, base64: str) -> None:
    """Three bytes are four sextets, so that those of the vector stand in front of the CRC's unchanged."""
    sent = c_frame(data)
    assert sent.startswith(marked(base64))
    assert c_frames(b"\x00" + sent) == ([data], 0)


def test_a_frame_is_put_together_from_both() -> None:
    """By hand: 123456789 is MTIzNDU2Nzg5 in Base64; the CRC, high byte first, is D6 4E: 110101 100100 1110(00)."""
    sent = b"\x00" + marked("MTIzNDU2Nzg5" + "1k4") + b"\x00"
    assert frame(b"123456789") == sent
    assert b"\x00" + c_frame(b"123456789") == sent
    assert Frames().feed(sent) == [b"123456789"]
    assert c_frames(sent) == ([b"123456789"], 0)
