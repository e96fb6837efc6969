"""Waiting for a hand while a crate is sorted: for a key, until the socket is empty, until a part sits still.

Rule: nothing is energised here; looks alone, at a few mA.
"""

from collections.abc import Callable
from enum import Enum, auto

from pulldrop.board.errors import BoardError
from pulldrop.jobs.back import until_back
from pulldrop.jobs.sort.screen import Screen
from pulldrop.jobs.sort.setup import Surroundings
from pulldrop.jobs.sort.still import LOOK_S, Emptied, Still
from pulldrop.measure.identify.socket import look
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.crate.crate import BEATS, Command, Control, Stage

TICK_S = 0.1
"""Longest time between two looks while a hand is being let go: half of what it is otherwise, for hands are quick."""
ALONE_S = 600.0
"""A question closes after so long without an answer."""
LATE_S = 0.002
"""A look that is to end with a beat ends so much after it: too early by a hair, and another look would be needed."""
MOVED = "It moved, so the count began again."


class Seat(Enum):
    """How waiting for a part to sit still ended: it does; it was taken out; the work is to end."""

    STILL = auto()
    GONE = auto()
    END = auto()


class Waiting:
    """`at_once` does a command that needs no stage of its own, and says whether it was one."""

    def __init__(self, rig: Rig, screen: Screen, around: Surroundings, at_once: Callable[[Command], bool]) -> None:
        self._rig, self._screen, self._around, self._at_once = rig, screen, around, at_once

    def idle(self, seconds: float = LOOK_S) -> Control | None:
        """Let a moment pass; the control that was pressed, when it is not one that is done at once."""
        command = self._screen.take()
        if command is None and self._screen.view is not None:
            self._around.wait(self._screen.view, seconds)
            command = self._screen.take()
        return None if command is None or self._at_once(command) else command.control

    def answer(self, ask: Callable[[], None], alone: bool | None) -> bool | None:
        """Yes or no to what `ask` shows; None for the end of the work, and `alone` where nobody answers."""
        until_s = self._rig.board.elapsed() + ALONE_S
        while self._rig.board.elapsed() < until_s:
            ask()
            control = self.idle()
            if control is Control.END:
                return None
            if control in (Control.GO, Control.NO):
                return control is Control.GO
        return alone

    def until_back(self, gone: BoardError) -> bool:
        """Wait until the board is there again, with everything off; False for the end of the work."""
        sentence = f"{gone} Plug it in again: the crate then continues by itself."
        return until_back(
            self._rig.board,
            sentence,
            lambda text: self._screen.tell(Stage.STOPPED, "BOARD GONE", text, say=(Control.END,)),
            self._screen.take,
        )

    def until_empty(self, stage: Stage, word: str, sentence: str) -> bool:
        """Wait until the socket is empty; False for the end of the work."""
        emptied = Emptied()
        while True:
            self._screen.tell(stage, word, sentence, say=(Control.END,))
            if emptied.see(look(self._rig)):
                return True
            if self.idle() is Control.END:
                return False

    def until_still(self, still: Still, sentence: str, meanwhile: Callable[[], None], number: int, golden: str) -> Seat:
        """Count down until what lies in the socket has sat still. `meanwhile`: looks that are made beside it."""
        while True:
            before, began_s = still.seen, self._rig.board.elapsed()
            still.see(look(self._rig), self._rig.board.elapsed())
            look_s = self._rig.board.elapsed() - began_s
            if still.seen.empty and not before.empty:
                return Seat.GONE
            if still.enough:
                return Seat.STILL
            self._screen.tell(
                Stage.STILL, "HANDS OFF", f"{MOVED} {sentence}" if still.moved else sentence, number=number,
                golden=golden, step="sits still", steps_done=BEATS - still.beats, steps_total=BEATS, say=(Control.END,),
            )  # fmt: skip
            meanwhile()
            left_s = still.due_s + LATE_S - look_s - self._rig.board.elapsed()
            if self.idle(min(TICK_S, max(left_s, 0.0))) is Control.END:
                return Seat.END
