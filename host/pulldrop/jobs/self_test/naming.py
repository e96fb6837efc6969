"""Giving a board its number: which numbers will do, and what follows for its calibrations.

Rule: the number is all by which calibrations and runs know a board; two boards must never share one.
"""

from pulldrop.model.bench.identity import Identity
from pulldrop.store import Store

LEAST, MOST = 1, 999_999
"""0 is a board that was never named; more than six digits do not go on a label."""


class BadNumber(ValueError):
    """A number that no board can have; the message is a sentence."""


def check_number(number: int) -> None:
    """Raises BadNumber."""
    if not LEAST <= number <= MOST:
        raise BadNumber(
            f"{number} cannot be a board's number; it must be {LEAST} to {MOST}. Take the one on its label, or write"
            " one there that no other board of yours has."
        )


def consequences(store: Store, board: Identity, number: int) -> tuple[str, ...]:
    """What a person should know, and agree to, before this board is called by that number; empty when nothing."""
    told: list[str] = []
    stored = [one for one in store.calibrations() if one.board.kind == board.kind]
    if board.serial:
        told.append(
            f"This board is number {board.serial}. Calibrations of number {board.serial}, in the store and in the"
            f" board, will no longer apply to it. Calibrate it as number {number}."
        )
    elif any(not one.board.serial for one in stored):
        told.append("Calibrations from before it had a number will no longer apply to it. Calibrate it again.")
    same = [one for one in stored if one.board.serial == number]
    if same:
        told.append(
            f"The store has a calibration of a board {number} ({same[-1].calibration.taken_at:%Y-%m-%d}), which will"
            " apply to this one. If that is another board, take another number."
        )
    return tuple(told)
