"""What screens show and what is pressed on them: the newest view, and commands that wait to be done.

Rule: a command counts only while the view offers it, and only by one who has seen what the bench is about now.
"""

import threading
from collections import deque
from collections.abc import Callable
from typing import Generic, TypeVar

from pulldrop.model.crate.crate import Command, Control, CrateView
from pulldrop.model.run.single import SingleView

V = TypeVar("V", CrateView, SingleView)


class Desk(Generic[V]):
    """One bench's views. `press` may be called from any thread, everything else from the job's."""

    def __init__(self, show: Callable[[V], None]) -> None:
        self._show: Callable[[V], None] = show
        self._commands: deque[Command] = deque()
        self._lock = threading.Lock()
        self._version = self._since = 0
        self.view: V | None = None

    def press(self, command: Command) -> str:
        """Take a command, or say in a sentence why not."""
        with self._lock:
            refusal = self._refusal(command)
            if not refusal:
                self._commands.append(command)
            return refusal

    def take(self) -> Command | None:
        """The next command that still counts."""
        with self._lock:
            while self._commands:
                command = self._commands.popleft()
                if not self._refusal(command):
                    return command
        return None

    def lay(self, view: V) -> None:
        """Show a view, when anything in it but its version is new."""
        view = view.model_copy(update={"version": max(self._version, 1)})
        if view == self.view:
            return
        with self._lock:
            self._version += 1
            if self.view is None or view.about != self.view.about:
                self._since = self._version
            self.view = view.model_copy(update={"version": self._version})
        self._show(self.view)

    def _late(self, command: Command, view: V) -> bool:
        """Whether a command counts whatever is shown now."""
        return False

    def _refusal(self, command: Command) -> str:
        view = self.view
        if view is not None and self._late(command, view):
            return ""
        if view is None or command.control not in view.controls:
            return f"'{command.control}' does nothing now."
        drawn = not command.seen or self._since <= command.seen <= self._version
        if not drawn and command.control is not Control.END:
            return "The bench has moved on since that screen was drawn. Look again, then press again."
        return ""
