"""Hostile and broken files: each is refused with a sentence, quickly, and nothing in it is run or expanded."""

import os
from pathlib import Path

import pytest
from work_time import within

from pulldrop.protocol.check import check
from pulldrop.protocol.ratings.files import check_rating
from pulldrop.protocol.ratings.reference import load_reference
from pulldrop.text.document import MOST_BYTES, read
from pulldrop.text.problem import MOST_SHOWN, BadText, Problem

ENOUGH_S = 1.0
"""Of processor time, each file read twice; the worst of these takes about 0.4 s on a slow core."""


def full(piece: bytes, head: bytes = b"", tail: bytes = b"") -> bytes:
    """A piece repeated up to the largest file that is read at all."""
    return head + piece * ((MOST_BYTES - len(head) - len(tail)) // len(piece)) + tail


def bomb() -> str:
    """Nine levels of nine aliases each: some 400 million values if followed."""
    levels = "".join(f"l{i}: &l{i} [{', '.join([f'*l{i - 1}'] * 9)}]\n" for i in range(1, 9))
    return "l0: &l0 [x, x, x, x, x, x, x, x, x]\n" + levels


HOSTILE = {
    "bomb of aliases": bomb().encode(),
    "open brackets": full(b"["),
    "open braces": full(b"{a: "),
    "nested dashes": full(b"- "),
    "nested keys": full(b"? "),
    "entries without end": full(b"a,", b"["),
    "one key, again and again": full(b"x:\n"),
    "thousands of keys": b"".join(b"k%d: 1\n" % i for i in range(30_000))[:MOST_BYTES],
    "one endless word": full(b"a"),
    "words without end": full(b"a "),
    "escapes without end": full(b"\\x41", b'a: "', b'"'),
    "blank lines in a block": full(b" \n", b"a: |\n"),
    "comments": full(b"#\n"),
    "endless digits": full(b"9", b"version: "),
    "endless fraction": full(b"9", b"version: 0."),
    "endless quantity": full(b"1", b"nominal: ", b" V"),
    "endless limit": full(b"<", b"limits: {operate_time: '", b"'}"),
    "larger than allowed": full(b"a: 1\n") + b"b: 1\n",
    "binary": bytes(range(256)) * 20,
    "zeros": bytes(1000),
    "UTF-16": "protocol: x\n".encode("utf-16"),
    "Latin-1": "title: Prüfung\n".encode("latin-1"),
    "an ELF file": b"\x7fELF\x02\x01\x01" + bytes(9),
    "nothing": b"",
    "white space": b" \n\n  \n",
    "a tab": b"protocol: x\n\tversion: 1\n",
    "a list": b"- protocol\n- x\n",
    "a word": b"protocol",
    "code by tag": b"protocol: !!python/object/apply:os.system ['touch owned']\n",
    "code by new tag": b"!!python/object/new:pathlib.Path {args: [/]}\n",
    "merge key": b"a: &a {x: 1}\nb:\n  <<: *a\n",
    "two documents": b"a: 1\n---\nb: 1\n",
    "infinite version": b"version: .inf\n",
    "deep limits": b"limits: " + b"{a: " * 30 + b"1" + b"}" * 30,
}


def test_a_pipe_is_no_file_and_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(BadText, match="is no file"):
        read(tmp_path / "pipe.yaml")


LEARNED = """
siblings: class-mini-12v-form-c
protocol: relay-full
version: 1
nominal_v: 12
form: C
parts: 3
simulated: true
made: 2026-11-30
figures:
  coil_resistance_20c: {parts: 3, middle: 85.0, spread: 0.02}
"""


def test_a_type_with_a_measurement_that_there_is_not_is_refused_with_its_place(tmp_path: Path) -> None:
    file = tmp_path / "type.yaml"
    file.write_text(LEARNED)
    assert load_reference(file).parts == 3
    file.write_text(LEARNED.replace("coil_resistance_20c", "spread_of_it"))
    with pytest.raises(BadText, match=r"type.yaml:\d+:\d+: 'spread_of_it' is no measurement"):
        load_reference(file)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_with_sentences_and_in_time(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "hostile.yaml"
    file.write_bytes(HOSTILE[name])
    for told in within(ENOUGH_S, lambda: (check(file), check_rating(file))):
        assert isinstance(told, list)
        assert 1 <= len(told) <= MOST_SHOWN + 1
        assert all(isinstance(p, Problem) and p.file == str(file) and 10 < len(p.says) < 900 for p in told)
    assert [path.name for path in tmp_path.iterdir()] == ["hostile.yaml"]


@pytest.mark.parametrize(
    ("content", "place", "says"),
    [
        (HOSTILE["Latin-1"], "1:10", "the byte 0xfc is not UTF-8"),
        (b"a: 1\nb: \xff\n", "2:4", "the byte 0xff is not UTF-8"),
        (b"a: 1\nb: \x00\n", "2:4", "U+0000"),
        (HOSTILE["larger than allowed"], "", "larger than 64 kB"),
        (HOSTILE["open brackets"], "1:22", "more than 20 deep"),
        (HOSTILE["entries without end"], "1:10000", "more than 5000 values"),
    ],
)
def test_the_reason_is_named_at_its_place(content: bytes, place: str, says: str, tmp_path: Path) -> None:
    file = tmp_path / "bad.yaml"
    file.write_bytes(content)
    told = check(file)
    assert isinstance(told, list)
    assert str(told[0]).startswith(f"{file}:{place}:" if place else f"{file}: ")
    assert says in told[0].says


def test_a_file_that_is_not_there_or_is_a_folder_is_a_sentence(tmp_path: Path) -> None:
    for path in (tmp_path / "gone.yaml", tmp_path):
        told = check(path)
        assert isinstance(told, list)
        assert "cannot be read" in told[0].says
