"""What a board keeps for the host: notes that come back, that are not written under load, and not written in vain."""

import pytest
from orders import on

from pulldrop.board.contract import Board
from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Drive
from pulldrop.model.raw import Contact

DRY = Drive(dac=0, on=False, on_ms=5000, dry=Contact.NO)


def test_notes_come_back_and_what_lies_behind_them_stays(board: Board) -> None:
    board.keep_notes(bytes(range(201)))
    board.keep_notes(b"seven..")
    notes = board.notes()
    assert len(notes) == 768
    assert notes[:201] == b"seven.." + bytes(range(7, 201))
    assert set(notes[201:]) == {0xFF}, "never written"


def test_notes_fill_all_the_room_and_no_more(board: Board) -> None:
    before = board.notes()
    with pytest.raises(Refused, match="769 bytes") as refused:
        board.keep_notes(bytes(769))
    assert refused.value.reason == "argument"
    assert board.notes() == before
    board.keep_notes(before[:-1] + b"\x07")
    assert board.notes() == before[:-1] + b"\x07"
    board.keep_notes(before)


@pytest.mark.parametrize("coil", [True, False], ids=["coil", "dry source"])
def test_nothing_is_kept_while_anything_is_on(board: Board, coil: bool) -> None:
    before = board.notes()
    board.hold_coil(on(board, on_ms=5000, dry=Contact.NONE) if coil else DRY)
    with pytest.raises(Refused) as refused:
        board.keep_notes(bytes(byte ^ 1 for byte in before))
    assert refused.value.reason == "energised"
    board.keep_notes(before)  # the same: nothing to write, so nothing to refuse
    board.off()
    assert board.notes() == before


def test_notes_are_read_while_the_coil_is_on_and_it_stays_on(board: Board) -> None:
    board.hold_coil(on(board, on_ms=5000, dry=Contact.NONE))
    assert len(board.notes()) == 768
    assert board.status().on
