"""What each key does while a crate is sorted, and the line that is typed for a note or a rating.

Rule: a key counts only for the screen that the person saw, and a line for the part that it was begun for.
"""

import threading
from collections.abc import Callable

from pulldrop.model.crate.crate import Command, Control, CrateView

KEYS = {
    " ": Control.GO, "\r": Control.GO, "\n": Control.GO, "n": Control.NO, "u": Control.UNDO, "s": Control.SKIP,
    "r": Control.RETEST, "t": Control.NOTE, "g": Control.RATING, "q": Control.END,
}  # fmt: skip
NAMES = (
    (Control.GO, "space"), (Control.NO, "n or Esc"), (Control.UNDO, "u"), (Control.SKIP, "s"), (Control.RETEST, "r"),
    (Control.NOTE, "t"), (Control.RATING, "g"), (Control.END, "q"),
)  # fmt: skip
TYPED = (Control.NOTE, Control.RATING)
CLOSE_S = 20.0
"""A line closes after so long without a key: whoever left it finds the one key as it was."""
ENTER, ERASE, ESCAPE = ("\r", "\n"), ("\x7f", "\b"), "\x1b"


class Typist:
    """Keys into commands. `press` gives a sentence when one is refused, for `refused`; `typed` gets the open line.

    A line is open for one part only: Esc drops it, and it closes by itself, keeping a note, when the bench moves on or
    nobody types for `close_s`. The one key is never a letter where it means something now.
    """

    def __init__(
        self,
        press: Callable[[Command], str],
        typed: Callable[[str], None],
        refused: Callable[[str], None],
        close_s: float = CLOSE_S,
    ) -> None:
        self._press, self._typed, self._refused, self._close_s = press, typed, refused, close_s
        self._view: CrateView | None = None
        self._typing: Control | None = None
        self._line = ""
        self._number = 0
        self._lapse: threading.Timer | None = None
        self._lock = threading.RLock()

    def saw(self, view: CrateView) -> None:
        """The screen that a key from now on answers."""
        with self._lock:
            moved = self._view is not None and view.about != self._view.about
            self._view = view
            if self._typing is not None and moved:
                self._close(keep=self._typing is Control.NOTE)

    def key(self, key: str) -> None:
        """One key."""
        with self._lock:
            if self._typing is not None and not self._leaves(key):
                self._type(key)
                return
            control = Control.NO if key == ESCAPE and self._asked() else KEYS.get(key.lower())
            if control in TYPED:
                self._open(control)
            elif control is not None:
                self._send(control)

    def _asked(self) -> bool:
        """Whether there is a question that Esc closes."""
        return self._view is not None and Control.NO in self._view.controls

    def _leaves(self, key: str) -> bool:
        """Whether it is the one key, and means something else than a blank; the line is closed then."""
        meant = self._view is not None and Control.GO in self._view.controls
        if key != " " or (self._line and not meant):
            return False
        self._close(keep=self._typing is Control.NOTE)
        return meant

    def _open(self, control: Control) -> None:
        view = self._view
        if view is not None and control not in view.controls:
            self._refused(f"'{control}' does nothing now.")
            return
        self._typing, self._line = control, ""
        self._number = view.noted if view is not None and control is Control.NOTE else 0
        self._show_line()

    def _type(self, key: str) -> None:
        if key in ENTER:
            self._close(keep=True)
        elif key == ESCAPE:
            self._close(keep=False)
        else:
            self._line = self._line[:-1] if key in ERASE else self._line + key if key.isprintable() else self._line
            self._show_line()

    def _close(self, keep: bool) -> None:
        control, text = self._typing, self._line.strip()
        self._typing, self._line = None, ""
        self._wait(0)
        self._typed("")
        if keep and text and control is not None:
            chosen = self._ratings().get(text, text) if control is Control.RATING else text
            self._send(control, chosen, self._number)

    def _ratings(self) -> dict[str, str]:
        return {str(n): name for n, name in enumerate(self._view.ratings if self._view else (), 1)}

    def _show_line(self) -> None:
        """What is being typed, for which part, and what can be chosen."""
        self._wait(self._close_s)
        if self._typing is Control.NOTE:
            about = f" for number {self._number}" if self._number else ""
            self._typed(f"note{about}: {self._line}\nEnter keeps it, Esc drops it")
            return
        part = f" from part {self._view.number} on" if self._view else ""
        choices = "   ".join(f"{n} {name}" for n, name in self._ratings().items())
        self._typed(f"rating{part}: {self._line}\nA number or a name, then Enter; Esc leaves it: {choices}")

    def _wait(self, seconds: float) -> None:
        """Close the line after so long without a key; 0 for never."""
        if self._lapse is not None:
            self._lapse.cancel()
            self._lapse = None
        if seconds:
            self._lapse = threading.Timer(seconds, self._lapsed)
            self._lapse.daemon = True
            self._lapse.start()

    def _lapsed(self) -> None:
        with self._lock:
            if self._typing is not None and self._lapse is threading.current_thread():
                self._close(keep=self._typing is Control.NOTE)

    def _send(self, control: Control, text: str = "", number: int = 0) -> None:
        seen = self._view.version if self._view is not None else 0
        self._refused(self._press(Command(control=control, text=text, seen=seen, number=number)))


def offered(view: CrateView) -> str:
    """What can be pressed now, in a line."""
    words = {Control.GO: view.go, Control.RETEST: "test again"}
    told = ((key, words.get(control, control)) for control, key in NAMES if control in view.controls)
    return "   ".join(f"{key}: {what}" for key, what in told)
