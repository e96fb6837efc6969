"""What a terminal shows and types while single parts are tested by the page beside it: a line for each new view.

Rule: the same words as on the page; the keys are those that `pulldrop test` has on a real board.
"""

from collections.abc import Callable

from rich.console import Console

from pulldrop.cli.show import screen
from pulldrop.model.crate.crate import Command, Control, Stage
from pulldrop.model.run.single import SingleView

KEYS = {
    " ": (Control.GO, ""), "\r": (Control.GO, ""), "\n": (Control.GO, ""), "n": (Control.NO, ""),
    "r": (Control.RETEST, ""), "f": (Control.PURPOSE, "full"), "d": (Control.PURPOSE, "diagnose"),
    "q": (Control.END, ""), "\x1b": (Control.END, ""),
}  # fmt: skip
OFFERED = (
    (Control.PURPOSE, "f: in full   d: what is wrong"), (Control.RATING, "a number: that kind"),
    (Control.RETEST, "r: test again"), (Control.NO, "n: leave it out"), (Control.END, "Esc: leave"),
)  # fmt: skip


class SingleLog:
    """Prints views and takes keys. `press`: see `Single.press`; it is there before the first key."""

    def __init__(self, out: Console) -> None:
        self._out = out
        self._view: SingleView | None = None
        self.press: Callable[[Command], str] = lambda _command: ""

    def __call__(self, view: SingleView) -> None:
        """One view; a step of a test is no line of its own."""
        before, self._view = self._view, view
        if before is not None and view.about == before.about:
            return
        if view.result is None:  # the command prints a result from its record
            if before is None and view.simulated:
                screen.simulated(self._out, view.board.split()[0])
            for seen in view.reasons if view.proposed else ():
                self._out.print(seen, style="dim")
            self._out.print(view.proposed or view.sentence, style="bold")
        if view.stage is not Stage.TESTING:
            self._offer(view)

    def _offer(self, view: SingleView) -> None:
        asked = view.kinds if Control.RATING in view.controls and not view.proposed else ()
        for number, (name, title) in enumerate(asked):
            self._out.print(screen.beside(f"  {number}", f"{title} ({name})", width=4))
        go = [f"Space: {view.go}"] if view.go else []
        offered = [what for control, what in OFFERED if control in view.controls]
        if not asked and "a number: that kind" in offered:
            offered.remove("a number: that kind")
        self._out.print("   ".join((*go, *offered)), style="bold")

    def key(self, key: str) -> None:
        """One key."""
        view = self._view
        if view is None:
            return
        number = int(key) if key.isascii() and key.isdigit() else len(view.kinds)
        if number < len(view.kinds):
            control, text = Control.RATING, view.kinds[number][0]
        elif key.lower() in KEYS:
            control, text = KEYS[key.lower()]
        else:
            return
        refused = self.press(Command(control=control, text=text, seen=view.version))
        if refused:
            self._out.print(refused)
