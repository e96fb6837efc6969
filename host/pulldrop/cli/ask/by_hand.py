"""What a person must do during a test: asked at a terminal, done by a simulated bench's own hand, or left out.

Rule: nobody is asked where nobody can answer; then the step is left out, and the result says so.
"""

import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from threading import Event

from rich.console import Console

from pulldrop.cli.ask import answered
from pulldrop.cli.ask.keys import pressed
from pulldrop.cli.show.live.knob import KnobScreen
from pulldrop.jobs.run.boards import Opened, virtual_hand
from pulldrop.model.run.hand import Hand, Request

LEAVES_OUT = "s"
LEFT_EXCHANGED = (
    "The two coil leads are still exchanged. Put the lead of 85 back on blade 85 and that of 86 on blade 86 before"
    " anything else is tested."
)


class AtTerminal:
    """Asks a person. `paused`: what is drawn stands still within it; `exchanged`: where the leads are, as told;
    `part`: for whose sake it is done, in words."""

    def __init__(
        self, out: Console, paused: Callable[[], AbstractContextManager[None]], simulated: bool, part: str
    ) -> None:
        self._out, self._paused, self._simulated, self._part = out, paused, simulated, part
        self.exchanged = False
        self._turning = ExitStack()
        self._screen: KnobScreen | None = None
        self._left_out = Event()

    def __call__(self, request: Request) -> bool:
        """Whether it was done; who leaves it, or nobody, leaves it out."""
        if request.turn is not None:
            return self._turn(request)
        with self._paused():
            self._out.print(f"{self._part}: {request.text}", style="bold")
            done = self._answer()
        self.exchanged = request.exchanged if done else self.exchanged
        return done

    def _turn(self, request: Request) -> bool:
        """What the knob is to do, until it is "done": no key is needed, and one leaves it out."""
        if request.turn == "done":
            self._turning.close()
            self._screen = None
            return True
        if self._screen is None:
            self._left_out.clear()
            self._turning.enter_context(self._paused())
            self._turning.enter_context(pressed(self._pressed))
            self._screen = self._turning.enter_context(KnobScreen(self._out, self._simulated))
        if request.turn == "out":
            self._left_out.clear()  # it has to go back all the same
        self._screen(request)
        return not self._left_out.is_set()

    def _pressed(self, key: str) -> None:
        if key.lower() in (LEAVES_OUT, answered.ESC):
            self._left_out.set()

    def _answer(self) -> bool:
        try:
            return answered.key(self._out, {" ": "it is done", LEAVES_OUT: "leave it out"}) == " "
        except answered.Unanswered:
            return False


def hand_for(
    opened: Opened, out: Console, paused: Callable[[], AbstractContextManager[None]] | None, part: str
) -> Hand | None:
    """Whoever stands by; `paused` None where nothing may be shown or asked. `part`: for whose sake, in words."""
    if opened.leads:
        return virtual_hand(opened.leads, opened.knob)
    simulated = opened.board.identity.simulated
    return AtTerminal(out, paused, simulated, part) if paused and sys.stdin.isatty() else None


def still_exchanged(hand: Hand | None) -> str:
    """A reminder to put the leads back, if they are still exchanged after a run, however it ended."""
    return LEFT_EXCHANGED if isinstance(hand, AtTerminal) and hand.exchanged else ""
