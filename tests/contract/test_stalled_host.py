"""A computer that stood still while it read the coil supply: what has gone off meanwhile is no reading."""

from collections.abc import Callable

import pytest

from pulldrop.board.contract import Board
from pulldrop.board.errors import TooLate
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.raw import Capture, CoilCounts, Contact

LOW = Capture(edges=(), contacts_before=Contact.NONE, samples=(0,), sample_ticks=1, window_ticks=1)
"""A low end that never rose: what a diode across the coil makes of it."""
LOOKS: dict[str, Callable[[Rig], object]] = {
    "the zero": Rig.take_zero,
    "the clamp": lambda rig: wiring.clamp(rig, [LOW], asked=True, coil_v=12.0),
}


@pytest.mark.parametrize("look", LOOKS)
def test_a_coil_supply_that_went_off_before_it_was_read_is_trouble_and_in_time_it_is_none(
    board: Board, look: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    rig, read = Rig.uncalibrated(board), board.sense_coil
    LOOKS[look](rig)

    def late() -> CoilCounts:
        board.wait(1.1)
        return read()

    monkeypatch.setattr(board, "sense_coil", late)
    with pytest.raises(TooLate, match="waited too long"):
        LOOKS[look](rig)
    assert not board.status().supplied
