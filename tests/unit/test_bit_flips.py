"""Every single flipped bit of every message, both delimiters too: neither side ever hears another frame than was sent.

With the CRC begun at 0 and content stuffed by run lengths, one such bit in 56 of a status answer passed: a flipped
opening delimiter put a zero in front, to which that CRC is blind, and the sequence number became a message.
"""

import pytest
from firmware_native import content
from native_frames import c_frames

from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire.frames import Frames, frame
from pulldrop.wire.messages import Field, Message, Result

FOLLOWER = b"\x05\x02"
MESSAGES = list(wire.MESSAGES.values())


def full(field: Field) -> int | tuple[int, ...]:
    """The field at its most, an array full."""
    return (field.most,) * field.array if field.array else field.most


def contents(message: Message) -> list[bytes]:
    """The request as usual, and its answer at its shortest, with all at least and all at most."""
    head = bytes([0xA7, message.id | codec.ANSWER_BIT])
    most = codec.pack(message, message.answer, [full(field) for field in message.answer])
    least = codec.pack(message, message.answer, [() if field.array else field.least for field in message.answer])
    done = bytes([Result.DONE])
    return [
        content(message, 0),
        content(message, 112),
        head + bytes([Result.BUSY]),
        head + done + least,
        head + done + most,
    ]


def flips(sent: bytes) -> list[bytes]:
    """All bytes with one bit flipped."""
    flipped = [bytearray(sent) for _ in range(8 * len(sent))]
    for bit, one in enumerate(flipped):
        one[bit // 8] ^= 1 << bit % 8
    return [bytes(one) for one in flipped]


@pytest.mark.parametrize("message", MESSAGES, ids=[message.name for message in MESSAGES])
def test_no_flipped_bit_of_a_message_is_heard_as_another_by_host_or_board(message: Message) -> None:
    for each in contents(message):
        damaged = flips(frame(each))
        stream = b"".join(one + frame(FOLLOWER) for one in damaged)
        heard, bad = c_frames(stream)
        assert heard == [FOLLOWER] * len(damaged)
        frames = Frames()
        assert frames.feed(stream) == heard
        assert bad == frames.damaged >= len(damaged) - 16, "a flipped delimiter may join two frames in one"
