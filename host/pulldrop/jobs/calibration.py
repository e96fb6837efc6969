"""Which calibration holds for a run, and what a person should know about it.

Rule: a board uses its own newest calibration or none; a simulated one never serves a real board.
"""

from datetime import datetime, timedelta

from pulldrop.model.calibration import GOOD_FOR, Calibration, nominal
from pulldrop.model.identity import Identity
from pulldrop.store import Store

YOUNGER_BY = timedelta(hours=1)
"""A computer's clock that was set back may date a calibration a little into the future."""


def in_force(store: Store, board: Identity, at: datetime) -> tuple[Calibration, tuple[str, ...]]:
    """The calibration for this board, and warnings in words; nominal values when it has none."""
    record = store.newest_calibration(board)
    if record is None:
        return nominal(board.serial), _of_others(store, board)
    calibration = record.calibration
    if calibration.simulated != board.simulated or calibration.board_serial != board.serial:
        return nominal(board.serial), (f"The calibration {calibration.name} is not of this board; it is not used.",)
    return calibration, (*_age(calibration, at), *record.left_out)


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
