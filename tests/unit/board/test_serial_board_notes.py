"""Notes over the wire: only what differs is written, each word once, and what was written is read again."""

import pytest
from scripted_port import ScriptedPort, talk

from pulldrop.board.errors import BoardError, NoAnswer, Refused
from pulldrop.board.serial import SerialBoard
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result

BEFORE = bytes(i % 251 for i in range(768))
NEW = bytes([9, 9, 9, 9]) + BEFORE[4:20] + bytes([8])


def read(port: ScriptedPort, memory: bytes) -> ScriptedPort:
    """The host reads all of it."""
    for first in range(0, 768, 32):
        port.host(wire.READ_NOTES, first).board(tuple(memory[first : first + 32]))
    return port


def word(memory: bytes, first: int) -> int:
    return int.from_bytes(memory[first : first + 4], "little")


def test_all_notes_are_read_in_frames_of_32() -> None:
    (notes,) = talk(read(ScriptedPort(), BEFORE).closing(), SerialBoard.notes)
    assert notes == BEFORE


def test_only_the_words_that_differ_are_written() -> None:
    after = NEW + BEFORE[len(NEW) :]
    port = read(ScriptedPort(), BEFORE).host(wire.WRITE_NOTES, 0, word(after, 0)).board()
    read(port.host(wire.WRITE_NOTES, 20, word(after, 20)).board(), after).closing()
    talk(port, lambda board: board.keep_notes(NEW))


def test_notes_that_are_there_already_are_only_compared() -> None:
    talk(read(read(ScriptedPort(), BEFORE), BEFORE).closing(), lambda board: board.keep_notes(BEFORE[:100]))


def test_a_word_whose_answer_is_lost_is_not_written_again() -> None:
    port = read(ScriptedPort(), BEFORE).host(wire.WRITE_NOTES, 0, word(NEW, 0)).closing()
    with pytest.raises(NoAnswer, match="write_notes, asked once"):
        talk(port, lambda board: board.keep_notes(NEW))
    port.finish()


def test_a_refusal_ends_the_writing() -> None:
    port = read(ScriptedPort(), BEFORE).host(wire.WRITE_NOTES, 0, word(NEW, 0)).refuses(Result.ENERGISED).closing()
    with pytest.raises(Refused, match="Turn everything off first"):
        talk(port, lambda board: board.keep_notes(NEW))
    port.finish()


def test_a_memory_that_does_not_keep_is_told() -> None:
    port = read(ScriptedPort(), BEFORE).host(wire.WRITE_NOTES, 0, word(NEW, 0)).board()
    read(port, BEFORE).closing()
    with pytest.raises(BoardError, match="did not keep in its EEPROM"):
        talk(port, lambda board: board.keep_notes(NEW[:4]))
    port.finish()
