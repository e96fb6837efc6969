"""The hunted wire by a vehicle lead whose board is unplugged and comes back: waited for, and no delay is made of it."""

import pytest

from pulldrop.board.errors import BoardLost
from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.jobs.hunt.simulated import clipped
from pulldrop.jobs.hunt.wire import HuntedWire, by_lead
from pulldrop.jobs.vehicle import boards
from pulldrop.measure.lead import LeadRig
from pulldrop.model.hunt.look import Side, WireLevel


class Loose(LeadBoard):
    """Unplugged from the wait of that number on, until it was opened again three times."""

    def __init__(self) -> None:
        super().__init__(boards.vehicle("touring-coach-7"), 3)
        self.waits, self.gone_at, self.tries = 0, 40, 0

    def wait(self, seconds: float) -> None:
        self.waits += 1
        if self.waits == self.gone_at:
            raise BoardLost("The board does not answer: it was unplugged.")
        super().wait(seconds)

    def reopen(self) -> None:
        self.tries += 1
        if self.tries < 3:
            raise BoardLost("It is not back yet.")


def test_it_is_waited_for_and_the_look_has_no_delay() -> None:
    said: list[str] = []
    slept: list[float] = []
    with Loose() as board:
        lead = board.plant.lead
        lead.place(clipped(board.plant), board.plant.time_s)
        wire = HuntedWire(by_lead(LeadRig(board), said.append, slept.append), Side.HIGH)
        wire.settle()
        asked_s = wire.now_s
        at = {"key": "ON", "side lamps": "on", "bay lamps": "on"}
        lead.place(clipped(board.plant, at), board.plant.time_s)
        look = wire.after(asked_s, 3.0, 31.0)
    assert (look.level, look.rose_s) == (WireLevel.ON, None)
    assert len(said) == 3 and len(slept) == 3


def test_without_anybody_who_waits_it_is_said() -> None:
    with Loose() as board, pytest.raises(BoardLost):
        board.plant.lead.place(clipped(board.plant), board.plant.time_s)
        wire = HuntedWire(by_lead(LeadRig(board), lambda _: None, None), Side.HIGH)
        wire.settle()
        wire.after(wire.now_s, 3.0, 31.0)
