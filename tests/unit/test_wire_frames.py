"""Frames: whatever the line does to them, only whole and undamaged ones come out, and the next one is never lost."""

import random
from itertools import pairwise

import pytest
from cobs import cobs
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.wire.frames import LONGEST_CONTENT, LONGEST_ENCODED, Frames, frame

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


@given(CONTENTS, st.data())
def test_a_flipped_bit_behind_the_first_code_never_gives_a_wrong_frame_without_notice(
    content: bytes, data: st.DataObject
) -> None:
    """A flip that makes no zero and hits no COBS code is one wrong bit of the content: the CRC finds every one."""
    sent = bytearray(frame(content))
    codes = _code_positions(bytes(sent))
    plain = [i for i in range(1, len(sent) - 1) if i not in codes]
    at, bit = data.draw(st.sampled_from(plain or [0])), data.draw(st.integers(0, 7))
    if not plain or sent[at] == 1 << bit:
        return
    sent[at] ^= 1 << bit
    frames = Frames()
    assert frames.feed(bytes(sent)) == []
    assert frames.damaged == 1


@pytest.mark.parametrize("damage", ["lost", "changed"])
def test_one_damaged_byte_gives_a_wrong_frame_no_oftener_than_a_16_bit_check_allows(damage: str) -> None:
    """Odds: at most 1 in 65,536 for each piece that is left; 20,000 trials expect 0.3 to 0.6, five would be a fault."""
    draw = random.Random(1)
    wrong = 0
    for _ in range(20_000):
        content = draw.randbytes(draw.randint(2, LONGEST_CONTENT))
        sent = bytearray(frame(content))
        at = draw.randrange(len(sent))
        if damage == "lost":
            del sent[at]
        else:
            sent[at] ^= draw.randint(1, 255)
        follower = b"\x05\x82\x00"
        *found, last = Frames().feed(bytes(sent) + frame(follower))
        assert last == follower
        wrong += any(piece != content for piece in found)
    assert wrong < 5


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
        ("a check without content", cobs.encode(b"\x00\x00")),
        ("one byte of content", cobs.encode(b"A\xe5\x58")),
        ("a code that points past the end", b"\x05123"),
        ("a frame one byte too long", b"\x42" + b"U" * 65),
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


def _code_positions(sent: bytes) -> set[int]:
    """Where the COBS codes stand in a frame between two delimiters."""
    codes, at = set(), 1
    while at < len(sent) - 1:
        codes.add(at)
        at += sent[at]
    return codes
