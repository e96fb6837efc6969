"""The firmware's frames, compiled for this PC under ASan and UBSan: the same vectors as the host, and any garbage."""

import shutil
from pathlib import Path

import pytest
from firmware_native import FIRMWARE, NativeFault, Script, content, program, talk
from hypothesis import given, settings
from hypothesis import strategies as st

from pulldrop.wire import messages as wire
from pulldrop.wire.frames import LONGEST_CONTENT, Frames, crc, frame, sextets
from pulldrop.wire.messages import Result

BODIES = [b"\x00\x00", b"12345\x006789", bytes(range(1, 63)), bytes(62), b"\x00" * 61 + b"\x01"]
NO_FRAMES = [sextets(b"123"), sextets(b"12345"), b"\xff" * 255, b"\x01", b"\x02A"]
"""Too short, with a wrong check, too long, unmarked."""

few = settings(max_examples=60, deadline=None)


def decode(data: bytes) -> tuple[list[bytes], int]:
    """Bodies of the valid frames in these bytes, and how many were bad."""
    *bodies, bad = talk([f"decode {data.hex()}"])
    return [bytes.fromhex(line.removeprefix("body ")) for line in bodies], int(bad.removeprefix("bad "))


def encode(body: bytes) -> bytes:
    (sent,) = talk([f"encode {body.hex()}"])
    return bytes.fromhex(sent.split()[2])


@pytest.mark.parametrize("body", BODIES)
def test_what_the_board_sends_is_body_and_check_in_sextets(body: bytes) -> None:
    assert encode(body) == sextets(body + crc(body)) + b"\x00"


@few
@given(st.binary(min_size=2, max_size=LONGEST_CONTENT))
def test_the_host_reads_whatever_the_board_sends(body: bytes) -> None:
    assert Frames().feed(encode(body)) == [body]


@few
@given(st.lists(st.binary(min_size=2, max_size=LONGEST_CONTENT), max_size=8))
def test_the_board_reads_whatever_the_host_sends(bodies: list[bytes]) -> None:
    assert decode(b"".join(frame(body) for body in bodies)) == (bodies, 0)


@pytest.mark.parametrize("encoded", NO_FRAMES)
def test_what_is_no_frame_is_counted_and_the_next_one_heard(encoded: bytes) -> None:
    bodies, bad = decode(encoded + b"\x00" + frame(b"hello"))
    assert bodies == [b"hello"]
    assert bad >= 1


def test_silence_in_zeros_is_no_bad_frame() -> None:
    assert decode(b"\x00" * 9) == ([], 0)


@few
@given(st.binary(min_size=2, max_size=LONGEST_CONTENT), st.data())
def test_one_damaged_byte_never_passes(body: bytes, data: st.DataObject) -> None:
    sent = bytearray(sextets(body + crc(body)))
    place = data.draw(st.integers(0, len(sent) - 1))
    sent[place] ^= data.draw(st.integers(1, 255))
    bodies, _ = decode(bytes(sent) + b"\x00" + frame(b"hello"))
    assert body not in bodies
    assert bodies[-1] == b"hello"


@settings(max_examples=80, deadline=None)
@given(st.lists(st.binary(max_size=200), max_size=6))
def test_after_any_garbage_the_board_still_answers(pieces: list[bytes]) -> None:
    script = Script()
    for i, piece in enumerate(pieces):
        script.raw(10 + 5 * i, piece)
    asked = script.send(100, wire.STATUS)
    assert [a for _, a in script.run(200).answers if a.sequence == asked and a.message is wire.STATUS]


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(list(wire.MESSAGES)), st.binary(max_size=24), st.integers(0, 255))
def test_any_content_is_answered_once_and_moves_on(message_id: int, fields: bytes, sequence: int) -> None:
    script = Script()
    script.raw(10, frame(bytes([sequence, message_id]) + fields))
    answers = script.run(6000).answers
    assert [answer.sequence for _, answer in answers] == [sequence]


def test_a_frame_in_pieces_is_heard_whole() -> None:
    script = Script()
    for i, byte in enumerate(frame(content(wire.GREET, 9))):
        script.raw(10 + 2 * i, bytes([byte]))
    assert script.run(100).answer(9).number("schema_hash") == wire.SCHEMA_HASH


def planted(tmp_path: Path, file: str, right: str, wrong: str) -> Path:
    """The native program of a copy of the firmware with one thing wrong in it."""
    folder = tmp_path / "firmware"
    shutil.copytree(FIRMWARE, folder, ignore=shutil.ignore_patterns("build"))
    text = (folder / file).read_text()
    assert text.count(right) == 1
    (folder / file).write_text(text.replace(right, wrong))
    return program(folder)


def test_a_byte_read_beyond_the_frame_would_be_caught(tmp_path: Path) -> None:
    short = ["dispatch " + bytes([1, wire.SENSE_ANALOG.id]).hex()]
    assert talk(short)
    built = planted(
        tmp_path,
        "core/line/dispatch.c",
        "length - HEAD != request_length(message)",
        "length - HEAD > 60 + request_length(message)",
    )
    with pytest.raises(NativeFault, match="AddressSanitizer: heap-buffer-overflow"):
        talk(short, built)


def test_a_byte_written_beyond_the_buffer_would_be_caught(tmp_path: Path) -> None:
    long = ["decode " + (b"\xc1" * 200 + b"\x00").hex()]
    assert talk(long) == ["bad 1"]
    built = planted(tmp_path, "core/line/frame.c", "if (taken == FRAME_LONGEST) {", "if (taken == 255) {")
    with pytest.raises(NativeFault, match=r"AddressSanitizer|runtime error"):
        talk(long, built)


def test_a_result_is_always_one_of_the_schema() -> None:
    lines = [f"dispatch 01{message_id:02x}" for message_id in range(256)]
    frames = Frames()
    results = [
        found[2] for line in talk(lines) if " tx " in line for found in frames.feed(bytes.fromhex(line.split()[2]))
    ]
    assert len(results) == 128, "the others are ids of answers"
    assert {Result(result) for result in results} >= {Result.DONE, Result.UNKNOWN}
