"""The wire's check and stuffing against published vectors, in the host's Python and in the firmware's C.

CRC-16/XMODEM: check value and parameters from the catalogue of parametrised CRC algorithms.
COBS: vectors from the tests of the `cobs` package (the encoding of Cheshire and Baker, 1999).
"""

from binascii import crc_hqx

import pytest
from cobs import cobs
from native_frames import c_crc, c_frame, c_frames

from pulldrop.wire.frames import Frames, crc, frame

CRC_VECTORS = [(b"123456789", 0x31C3), (b"A", 0x58E5), (b"", 0x0000)]
COBS_VECTORS = [
    (b"", b"\x01"),
    (b"\x00", b"\x01\x01"),
    (b"\x00\x00", b"\x01\x01\x01"),
    (b"12345\x006789", b"\x0612345\x056789"),
    (bytes(range(1, 255)), b"\xff" + bytes(range(1, 255))),
    (bytes(range(1, 256)), b"\xff" + bytes(range(1, 255)) + b"\x02\xff"),
]
COBS_ERRORS = [b"\x00", b"\x05123", b"\x0512\x004"]
FRAMED = [
    (b"123456789", b"\x00\x0c123456789\xc3\x31\x00"),
    (b"12345\x006789", b"\x00\x0612345\x076789" + crc_hqx(b"12345\x006789", 0).to_bytes(2, "little") + b"\x00"),
]
"""Whole frames put together by hand from the vectors above: one delimiter, one code a run, CRC low byte first."""


@pytest.mark.parametrize(("data", "check"), CRC_VECTORS)
def test_the_check_is_crc_16_xmodem(data: bytes, check: int) -> None:
    assert crc(data) == check.to_bytes(2, "little")
    assert c_crc(data) == check


@pytest.mark.parametrize(("data", "encoded"), COBS_VECTORS)
def test_the_stuffing_is_cobs(data: bytes, encoded: bytes) -> None:
    assert cobs.encode(data) == encoded
    assert cobs.decode(encoded) == data


@pytest.mark.parametrize(("data", "encoded"), [vector for vector in COBS_VECTORS if len(vector[0]) <= 60])
def test_the_firmware_stuffs_the_same(data: bytes, encoded: bytes) -> None:
    """The vector stands in front of the frame's own CRC: its runs are seen unchanged.

    A run of 254 bytes is longer than any frame.
    """
    content = data + b"\x00\x01"
    assert c_frame(content).startswith(encoded)
    assert c_frames(frame(content)) == ([content], 0)


@pytest.mark.parametrize("encoded", COBS_ERRORS)
def test_what_is_not_cobs_is_no_frame(encoded: bytes) -> None:
    with pytest.raises(cobs.DecodeError):
        cobs.decode(encoded)
    assert Frames().feed(encoded + b"\x00") == []
    assert c_frames(encoded + b"\x00")[0] == []


@pytest.mark.parametrize(("content", "sent"), FRAMED)
def test_a_frame_is_put_together_from_both(content: bytes, sent: bytes) -> None:
    assert frame(content) == sent
    assert Frames().feed(sent) == [content]
    assert b"\x00" + c_frame(content) == sent
    assert c_frames(sent) == ([content], 0)
