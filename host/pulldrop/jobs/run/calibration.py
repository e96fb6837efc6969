"""Which calibration holds for a run, and what a person should know about it.

Rule: a board uses its own newest calibration or none; a simulated one never serves a real board.
"""

from datetime import datetime, timedelta

from pulldrop.board.contract import Board
from pulldrop.model.bench.abilities import Build
from pulldrop.model.bench.calibration import GOOD_FOR, Calibration, nominal
from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.store import Store
from pulldrop.wire.notes import KeptNote, NotesError, pack, unpack

YOUNGER_BY = timedelta(hours=1)
"""A computer's clock that was set back may date a calibration a little into the future."""


def in_force(store: Store, board: Identity, at: datetime, notes: bytes = b"") -> tuple[Calibration, tuple[str, ...]]:
    """The calibration for this board, and warnings in words; nominal values when it has none.

    `notes` are what the board keeps itself: they count when the store has nothing newer, as after a move to another
    computer.
    """
    record = store.newest_calibration(board)
    kept, told = kept_in(board, notes)
    if kept is not None and (record is None or _newer(kept.calibration, record.calibration)):
        left_out = (f"{part}: left out when the board was calibrated." for part in kept.left_out)
        return kept.calibration, (*_age(kept.calibration, at), *left_out)
    if record is None:
        return nominal(board.serial, board.build), told or _of_others(store, board)
    calibration = record.calibration
    others = calibration.simulated != board.simulated or calibration.board_serial != board.serial
    if others or record.board.build != board.build:
        return nominal(board.serial, board.build), (
            f"The calibration {calibration.name} is not of this board; it is not used.",
        )
    return calibration, (*told, *_age(calibration, at), *record.left_out)


def carry(board: Board, record: CalibrationRecord) -> bool:
    """Leave a calibration in the board as well, so that it goes where the bench goes; False when it has no memory."""
    if not board.notes():
        return False
    board.keep_notes(pack(record.calibration, record.left_out, record.board.build))
    return True


def kept_in(board: Identity, notes: bytes) -> tuple[KeptNote | None, tuple[str, ...]]:
    """What the board keeps of its own, or why that is not used; neither where nothing was ever kept."""
    try:
        kept = unpack(notes)
    except NotesError as error:
        return None, (str(error),)
    if kept is None:
        return None, ()
    calibration = kept.calibration
    if (calibration.board_serial, calibration.simulated) == (board.serial, board.simulated):
        return (kept, ()) if kept.build == board.build else (None, (_grown(kept.build, board.build),))
    of = f"{'simulated' if calibration.simulated else 'real'} board {calibration.board_serial}"
    this = f"{'simulated' if board.simulated else 'real'} board {board.serial}"
    return None, (f"The calibration kept in this board is of {of}, and this is {this}; it is not used.",)


def _grown(was: Build, now: Build) -> str:
    return (
        f"The calibration kept in this board is of its {was} build, and it is of the {now} build now; it is not used."
        " Calibrate again: pulldrop calibrate"
    )


def _newer(kept: Calibration, stored: Calibration) -> bool:
    """Compared by whole seconds, as the board keeps them."""
    assert kept.taken_at is not None and stored.taken_at is not None
    return kept.taken_at > stored.taken_at.replace(microsecond=0)


def _age(calibration: Calibration, at: datetime) -> tuple[str, ...]:
    taken_at = calibration.taken_at
    assert taken_at is not None
    if calibration.old(at):
        days, good = (at - taken_at).days, GOOD_FOR.days
        return (
            f"The calibration is {days} days old; it is good for {good}, the time for which the accuracy of meters and"
            " converters is stated. Calibrate again: pulldrop calibrate",
        )
    if taken_at - at > YOUNGER_BY:
        return (f"The calibration is dated {taken_at:%Y-%m-%d}, later than today. Set the computer's clock.",)
    return ()


def _of_others(store: Store, board: Identity) -> tuple[str, ...]:
    others = [one.board for one in store.calibrations() if one.board.kind == board.kind]
    if not others:
        return ()
    return (
        f"The calibrations in this store are of other boards (the last one of board {others[-1].serial}); this is"
        f" board {board.serial}, and it is uncalibrated. Calibrate it: pulldrop calibrate",
    )
