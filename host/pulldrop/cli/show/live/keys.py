"""What each key does while a crate is sorted, and the line that is typed for a note or a rating.

Rule: a key counts only for the screen that the person saw, and a note for the part that it was begun for.
"""

from collections.abc import Callable

from pulldrop.model.crate.crate import Command, Control, CrateView

KEYS = {
    " ": Control.GO, "\r": Control.GO, "\n": Control.GO, "n": Control.NO, "u": Control.UNDO, "s": Control.SKIP,
    "r": Control.RETEST, "t": Control.NOTE, "g": Control.RATING, "q": Control.END,
}  # fmt: skip
NAMES = (
    (Control.GO, "space"), (Control.NO, "n"), (Control.UNDO, "u"), (Control.SKIP, "s"), (Control.RETEST, "r"),
    (Control.NOTE, "t"), (Control.RATING, "g"), (Control.END, "q"),
)  # fmt: skip
TYPED = (Control.NOTE, Control.RATING)
ENTER, ERASE, ESCAPE = ("\r", "\n"), ("\x7f", "\b"), "\x1b"


class Typist:
    """Keys into commands. `press` gives a sentence when one is refused, for `refused`; `typed` gets the line so far."""

    def __init__(
        self, press: Callable[[Command], str], typed: Callable[[str], None], refused: Callable[[str], None]
    ) -> None:
        self._press, self._typed, self._refused = press, typed, refused
        self._seen = self._newest = self._number = 0
        self._typing: Control | None = None
        self._line = ""

    def saw(self, view: CrateView) -> None:
        """The screen that a key from now on answers."""
        self._seen, self._newest = view.version, view.noted

    def key(self, key: str) -> None:
        """One key."""
        if self._typing is not None:
            self._type(key)
            return
        control = KEYS.get(key.lower())
        if control is None:
            return
        if control in TYPED:
            self._typing, self._line = control, ""
            self._number = self._newest if control is Control.NOTE else 0
            self._show_line(control)
            return
        self._send(Command(control=control, seen=self._seen))

    def _type(self, key: str) -> None:
        control = self._typing
        assert control is not None
        if key in ENTER:
            self._typing = None
            self._typed("")
            if self._line:
                self._send(Command(control=control, text=self._line, seen=self._seen, number=self._number))
            return
        self._line = self._line[:-1] if key in ERASE else self._line + key if key.isprintable() else self._line
        self._show_line(control)

    def _show_line(self, control: Control) -> None:
        about = f" for number {self._number}" if self._number else ""
        self._typed(f"{control}{about}: {self._line}")

    def _send(self, command: Command) -> None:
        self._refused(self._press(command))


def offered(view: CrateView) -> str:
    """What can be pressed now, in a line."""
    told = ((key, view.go if control is Control.GO else control) for control, key in NAMES if control in view.controls)
    return "   ".join(f"{key}: {what}" for key, what in told)
