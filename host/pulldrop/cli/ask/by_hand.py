"""What a person must do during a test: asked at a terminal, done by a simulated bench's own hand, or left out.

Rule: nobody is asked where nobody can answer; then the step is left out, and the result says so.
"""

import sys
from collections.abc import Callable
from contextlib import AbstractContextManager

from rich.console import Console

from pulldrop.jobs.run.boards import Opened, virtual_hand
from pulldrop.model.run.hand import Hand, Request

BAR_A_VOLT, TONE = 4, "\a"
"""Signs of the bar that shows a knob's volts; the terminal's tone."""
LEFT_EXCHANGED = (
    "The two coil leads are still exchanged. Put the lead of 85 back on blade 85 and that of 86 on blade 86 before"
    " anything else is tested."
)


class AtTerminal:
    """Asks a person. `paused`: what is drawn stands still within it; `exchanged`: where the leads are, as told."""

    def __init__(self, out: Console, paused: Callable[[], AbstractContextManager[None]]) -> None:
        self._out, self._paused = out, paused
        self.exchanged = False

    def __call__(self, request: Request) -> bool:
        """Whether it was done; the end of the input leaves it out."""
        if request.turn == "at":
            self._out.print(f"\r  {'#' * round(BAR_A_VOLT * request.volts):<60} {request.volts:5.2f} V ", end="")
            return True
        with self._paused():
            self._out.print(f"{TONE if request.turn else ''}{request.text}", style="bold")
            done = request.turn in ("up", "down", "on") or self._answer()
        self.exchanged = request.exchanged if done and request.turn is None else self.exchanged
        return done

    def _answer(self) -> bool:
        while True:
            self._out.print("  Enter when it is done, s and Enter to leave it out: ", end="")
            line = sys.stdin.readline()
            if line.strip() == "":
                return line != ""
            if line.strip().lower() == "s":
                return False


def hand_for(opened: Opened, out: Console, paused: Callable[[], AbstractContextManager[None]] | None) -> Hand | None:
    """Whoever stands by; `paused` None where nothing may be shown or asked."""
    if opened.leads:
        return virtual_hand(opened.leads, opened.knob)
    return AtTerminal(out, paused) if paused and sys.stdin.isatty() else None


def still_exchanged(hand: Hand | None) -> str:
    """A reminder to put the leads back, if they are still exchanged after a run, however it ended."""
    return LEFT_EXCHANGED if isinstance(hand, AtTerminal) and hand.exchanged else ""
