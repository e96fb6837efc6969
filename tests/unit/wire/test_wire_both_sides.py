"""The wire is written twice, in Python and in C: both must say and hear the same, byte for byte."""

from hypothesis import given, settings
from hypothesis import strategies as st
from native_frames import c_frame, c_frames

from pulldrop.wire.frames import LONGEST_CONTENT, Frames, frame

CONTENTS = st.binary(min_size=2, max_size=LONGEST_CONTENT)
PIECES = st.one_of(
    CONTENTS.map(frame),
    st.binary(max_size=90),
    st.tuples(CONTENTS.map(frame), st.integers(0, 63)).map(lambda p: p[0][: p[1]] + p[0][p[1] + 1 :]),
)


@settings(max_examples=50, deadline=None)
@given(CONTENTS)
def test_the_board_sends_what_the_host_would_send(content: bytes) -> None:
    assert b"\x00" + c_frame(content) == frame(content)


@settings(max_examples=100, deadline=None)
@given(st.lists(PIECES, max_size=12).map(b"".join))
def test_board_and_host_hear_the_same_frames_and_count_the_same_damage(stream: bytes) -> None:
    frames = Frames()
    assert c_frames(stream) == (frames.feed(stream), frames.damaged)
