"""What a crate shows and what is pressed: the newest view, and commands that wait to be done.

Rule: a command counts only while the view offers it, and only by one who has seen what the bench is about now; but a
note that carries its part's number was begun at an earlier view, and counts later as well.
"""

import threading
from collections import deque
from collections.abc import Callable

from pulldrop.judge.crate.ledger import Ledger
from pulldrop.model.bench.identity import Identity
from pulldrop.model.crate.crate import Bin, CoilPicture, Command, Control, CrateView, Stage
from pulldrop.model.wording.cautions import WHILE_SORTING

LAST_SHOWN = 8


class Screen:
    """One crate's screen. `press` may be called from any thread, everything else from the sorter's."""

    def __init__(
        self, board: Identity, crate: str, ratings: tuple[str, ...], ledger: Ledger, show: Callable[[CrateView], None]
    ) -> None:
        self._board, self._crate, self._ratings = board, crate, ratings
        self._ledger, self._show = ledger, show
        self._commands: deque[Command] = deque()
        self._lock = threading.Lock()
        self._version = self._since = 0
        self.view: CrateView | None = None
        self.protocol = self.rating = ""
        self.cautions: tuple[str, ...] = ()
        """Before the first part; later only what belongs to a hand at the socket."""

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

    def _refusal(self, command: Command) -> str:
        view = self.view
        if view is not None and command.number and command.control is Control.NOTE and view.stage is not Stage.ENDED:
            return ""
        if view is None or command.control not in view.controls:
            return f"'{command.control}' does nothing now."
        drawn = not command.seen or self._since <= command.seen <= self._version
        if not drawn and command.control is not Control.END:
            return "The bench has moved on since that screen was drawn. Look again, then press again."
        return ""

    def tell(
        self, stage: Stage, word: str, sentence: str, *, say: tuple[Control, ...] = (), number: int = 0,
        reasons: tuple[str, ...] = (), bin: Bin | None = None, picture: CoilPicture | None = None, go: str = "",
        step: str = "", steps_done: int = 0, steps_total: int = 0, golden: str = "", asked: int = 0,
    ) -> None:  # fmt: skip
        """Show a view, when anything in it is new. `number` 0: that of the next part."""
        ledger, who = self._ledger, self._board
        noted = (Control.NOTE,) if say and ledger.newest and stage is not Stage.TESTING else ()
        view = CrateView(
            version=max(self._version, 1), simulated=who.simulated, crate=self._crate, protocol=self.protocol,
            rating=self.rating, board=f"{who.kind} board {who.serial}", stage=stage, word=word, sentence=sentence,
            number=number or ledger.next_number, reasons=reasons, bin=bin, step=step, steps_done=steps_done,
            steps_total=steps_total, tally=ledger.tally, last=ledger.newest[:LAST_SHOWN], picture=picture, go=go,
            controls=(*((Control.GO,) if go else ()), *say, *noted), ratings=self._ratings, golden=golden,
            asked=asked,
            cautions=self.cautions if stage is Stage.CHECK else WHILE_SORTING,
        )  # fmt: skip
        if view == self.view:
            return
        with self._lock:
            self._version += 1
            if self.view is None or _about(view) != _about(self.view):
                self._since = self._version
            self.view = view.model_copy(update={"version": self._version})
        self._show(self.view)


def _about(view: CrateView) -> tuple[Stage, str, int]:
    """What must not have changed between a person's look and the press of a key."""
    return view.stage, view.word, view.number
