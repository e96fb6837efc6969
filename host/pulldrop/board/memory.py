"""The host's notes in the EEPROM of a board on a serial line, in frames of the wire.

Rule: an EEPROM wears. Only words that differ are written, each once, and a lost answer ends the writing.
"""

from typing import Protocol

from pulldrop.board.errors import BoardError, Refused
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer
from pulldrop.wire.messages import Message
from pulldrop.wire.notes import ROOM

WORD_BYTES = 4


class SendRequest(Protocol):
    """A request to the board, with `again` sent twice at most."""

    def __call__(self, message: Message, values: tuple[int, ...], again: bool = True, /) -> Answer: ...


def read(ask: SendRequest) -> bytes:
    """All of them."""
    notes = b""
    while len(notes) < ROOM:
        notes += bytes(ask(wire.READ_NOTES, (len(notes),)).numbers("notes"))
    return notes


def write(ask: SendRequest, notes: bytes, where: str) -> None:
    """Put these at the beginning, and see that they stay. Raises Refused, NoAnswer and BoardError."""
    if len(notes) > ROOM:
        raise Refused("argument", f"Not sent: {len(notes)} bytes, and there is room for {ROOM}.")
    kept = read(ask)
    wanted = notes + kept[len(notes) :]
    for first in range(0, ROOM, WORD_BYTES):
        word = wanted[first : first + WORD_BYTES]
        if word != kept[first : first + WORD_BYTES]:
            ask(wire.WRITE_NOTES, (first, int.from_bytes(word, "little")), False)
    if read(ask) != wanted:
        raise BoardError(
            f"The board at {where} did not keep in its EEPROM what was written there. "
            "Try again; if it stays so, its EEPROM is worn out."
        )
