"""A board that went away is waited for: opened again and again until it is there, or the work is to end."""

import time
from collections.abc import Callable

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardLost, BoardReset, NoAnswer, NoBoard, Refused, WrongBoard
from pulldrop.model.crate.crate import Command, Control

GONE = (BoardLost, BoardReset, NoAnswer)
"""Errors that say only that the board was away: it must be opened again."""
BACK_S = 0.5
"""Between two tries to open a port that is gone."""


def until_back(board: Board, sentence: str, show: Callable[[str], None], take: Callable[[], Command | None]) -> bool:
    """Whether the board is there again, with everything off; False for the end of the work. `show`: the sentence that
    a person reads meanwhile; `take`: the next command."""
    while True:
        show(sentence)
        try:
            board.reopen()
        except (WrongBoard, Refused) as other:  # refused: it is back, and its coil supply is not at 0
            sentence = str(other)
        except (NoBoard, *GONE):
            pass
        else:
            return True
        time.sleep(BACK_S)
        command = take()
        if command is not None and command.control is Control.END:
            return False
