"""A computer that stood still while it read the coil supply: what has gone off meanwhile is no reading."""

from collections.abc import Callable

import pytest
from orders import SETS_VOLTS

from pulldrop.board.contract import Board
from pulldrop.board.errors import TooLate
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.self_test import empty
from pulldrop.model.raw import Capture, Contact

LOW = Capture(edges=(), contacts_before=Contact.NONE, samples=(0,), sample_ticks=1, window_ticks=1)
"""A low end that never rose: what a diode across the coil makes of it."""
LOOKS: dict[str, tuple[str, Callable[[Rig], object]]] = {
    "the zero": ("sense_coil", Rig.take_zero),
    "an empty socket's coil": ("sense_analog", empty.coil_empty),
    "an empty socket's contacts": ("status", empty.contacts_open),
    "the contacts at rest": ("status", lambda rig: rig.seen_at_rest(0.02)),
    "the contacts after a release": ("status", lambda rig: rig.release(0.02)),
}
"""What is read late, and what reads it."""
CLAMP: Callable[[Rig], object] = lambda rig: wiring.clamp(rig, [LOW], asked=True, coil_v=12.0)  # noqa: E731
"""Of a board that has a diode for the coil."""


@pytest.mark.parametrize("look", LOOKS)
def test_what_went_off_before_it_was_read_is_trouble_and_in_time_it_is_none(
    board: Board, look: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Contacts that nothing feeds read open: a socket with a form C in it was empty, and a closed NC gone."""
    read_late(board, *LOOKS[look], monkeypatch)


@SETS_VOLTS
def test_a_clamp_that_was_looked_for_too_late_is_trouble(board: Board, monkeypatch: pytest.MonkeyPatch) -> None:
    read_late(board, "sense_coil", CLAMP, monkeypatch)


def read_late(board: Board, name: str, read: Callable[[Rig], object], monkeypatch: pytest.MonkeyPatch) -> None:
    rig = Rig.uncalibrated(board)
    read(rig)
    asked: Callable[..., object] = getattr(board, name)

    def late(*arguments: object) -> object:
        board.wait(1.1)
        return asked(*arguments)

    monkeypatch.setattr(board, name, late)
    with pytest.raises(TooLate, match="waited too long"):
        read(rig)
    monkeypatch.undo()
    assert not board.status().supplied and not board.status().fed
