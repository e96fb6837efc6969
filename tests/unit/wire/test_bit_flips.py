"""Every single flipped bit of every message, both delimiters too: neither side ever hears another frame than was sent.

With the CRC begun at 0 and content stuffed by run lengths, one such bit in 56 of a status answer passed: a flipped
opening delimiter put a zero in front, to which that CRC is blind, and the sequence number became a message.
"""

from random import Random

import pytest
from firmware_native import content
from native_frames import c_frames

from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire.frames import DELIMITER, Frames, crc, frame, sextets
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


def burst(wrong: int, at: int) -> bytes:
    """The shortest content and its CRC with these neighbouring bits wrong, from bit `at` on."""
    whole = FOLLOWER + crc(FOLLOWER)
    return (int.from_bytes(whole) ^ wrong << at).to_bytes(len(whole))


def test_every_burst_of_at_most_16_bits_is_found_where_content_and_check_meet() -> None:
    """With the CRC's low byte first the bits were out of the order of its division, and 12 such bursts passed."""
    bursts = [burst(wrong, at) for at in range(32) for wrong in range(1, min(1 << 16, 1 << (32 - at)), 2)]
    assert [whole.hex() for whole in bursts if crc(whole[:2]) == whole[2:]] == []


def test_the_board_finds_bursts_too() -> None:
    chance = Random(10)
    bursts = [burst(chance.randrange(1, 1 << 16, 2), chance.randrange(17)) for _ in range(10_000)]
    assert c_frames(b"".join(sextets(whole) + DELIMITER for whole in bursts)) == ([], len(bursts))


@pytest.mark.parametrize("message", MESSAGES, ids=[message.name for message in MESSAGES])
def test_nothing_added_or_lost_at_the_end_gives_another_message(message: Message) -> None:
    """A CRC that is sent as it is divides a frame with a zero behind it as well as the frame."""
    for each in contents(message):
        sent = frame(each)[1:-1]
        ends = [sent[:-1], sent[:-2], *(sent + bytes([0xC0]) * more for more in (1, 2, 3, 4))]
        stream = b"".join(one + DELIMITER for one in ends)
        assert (Frames().feed(stream), c_frames(stream)) == ([], ([], len(ends)))
