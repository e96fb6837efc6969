"""Frames: whatever the line does to them, only whole and undamaged ones come out, and the next one is never lost."""

import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.wire.frames import LONGEST_CONTENT, LONGEST_ENCODED, Frames, crc, frame, sextets

CONTENTS = st.binary(min_size=2, max_size=LONGEST_CONTENT)


@given(st.lists(CONTENTS, max_size=8))
def test_what_is_framed_comes_out_again_in_order(contents: list[bytes]) -> None:
    frames = Frames()
    assert frames.feed(b"".join(map(frame, contents))) == contents
    assert frames.damaged == 0


@given(st.binary(max_size=400), st.lists(st.integers(0, 400), max_size=10))
def test_bytes_may_come_in_any_pieces(stream: bytes, cuts: list[int]) -> None:
    whole, pieces, single = Frames(), Frames(), Frames()
    found = whole.feed(stream)
    at = [0, *sorted(cuts), len(stream)]
    assert [c for a, b in pairwise(at) for c in pieces.feed(stream[a:b])] == found
    assert [c for byte in stream for c in single.feed(bytes([byte]))] == found
    assert whole.damaged == pieces.damaged == single.damaged


@given(st.binary(max_size=1000), CONTENTS)
def test_after_any_noise_the_next_frame_is_heard(noise: bytes, content: bytes) -> None:
    frames = Frames()
    frames.feed(noise)
    assert frames.feed(frame(content)) == [content]


@given(CONTENTS, CONTENTS)
def test_no_flipped_bit_gives_another_frame_or_costs_the_next(content: bytes, follower: bytes) -> None:
    """Delimiters too. Why it holds for every content is said in frames.py; test_bit_flips.py has every message."""
    sent = frame(content)
    for bit in range(8 * len(sent)):
        flipped = bytearray(sent)
        flipped[bit // 8] ^= 1 << bit % 8
        assert Frames().feed(bytes(flipped) + frame(follower)) == [follower]


@given(CONTENTS, st.data())
def test_a_damaged_byte_that_is_no_delimiter_gives_no_other_frame(content: bytes, data: st.DataObject) -> None:
    sent = bytearray(frame(content))
    at = data.draw(st.integers(1, len(sent) - 2))
    sent[at] = data.draw(st.integers(1, 255).filter(lambda value: value != sent[at]))
    frames = Frames()
    assert frames.feed(bytes(sent)) == []
    assert frames.damaged == 1


def test_a_lost_byte_gives_a_wrong_frame_no_oftener_than_a_16_bit_check_allows() -> None:
    """Odds: 1 in 65,536; 20,000 trials expect 0.3 at most, and four or more come once in 4,000 such tests."""
    draw = random.Random(1)
    wrong = 0
    for _ in range(20_000):
        content = draw.randbytes(draw.randint(2, LONGEST_CONTENT))
        sent = bytearray(frame(content))
        del sent[draw.randrange(len(sent))]
        follower = b"\x05\x82\x00"
        *found, last = Frames().feed(bytes(sent) + frame(follower))
        assert last == follower
        wrong += any(piece != content for piece in found)
    assert wrong < 4


def test_a_frame_that_lost_its_end_is_still_ended_by_the_next() -> None:
    frames = Frames()
    assert frames.feed(frame(b"first")[:-1] + frame(b"second")) == [b"first", b"second"]


def test_an_endless_babble_fills_a_bounded_buffer_and_counts_once() -> None:
    frames = Frames()
    for _ in range(1000):
        frames.feed(b"U" * 100)
    assert len(frames._pending) <= LONGEST_ENCODED
    assert frames.feed(frame(b"after")) == [b"after"]
    assert frames.damaged == 1


@pytest.mark.parametrize(
    ("what", "encoded"),
    [
        ("a check without content", sextets(crc(b""))),
        ("one byte of content", sextets(b"A" + crc(b"A"))),
        ("a sextet too many", sextets(b"hello" + crc(b"hello")) + b"\xc0"),
        ("bits set behind the end", sextets(b"hello1" + crc(b"hello1"))[:-1] + b"\xff"),
        ("a byte without the mark", b"\x7f" + sextets(b"hello" + crc(b"hello"))[1:]),
        ("a frame one byte too long", sextets(bytes(63) + crc(bytes(63)))),
    ],
)
def test_what_is_no_frame_is_counted(what: str, encoded: bytes) -> None:
    frames = Frames()
    assert frames.feed(encoded + b"\x00") == []
    assert frames.damaged == 1


def test_zeros_between_frames_are_nothing() -> None:
    frames = Frames()
    assert frames.feed(b"\x00" * 100) == []
    assert frames.damaged == 0


@pytest.mark.parametrize("size", [0, 1, LONGEST_CONTENT + 1])
def test_content_that_no_frame_holds_is_not_sent(size: int) -> None:
    with pytest.raises(ValueError, match="a frame holds 2 to 62 bytes"):
        frame(bytes(size))
