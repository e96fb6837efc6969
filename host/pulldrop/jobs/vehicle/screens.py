"""A watch on pages: a view for every moment that changes something, five a second anyway, STALE where nothing comes.

Rule: the board may keep the watch waiting; a thread of its own lays down what is stale.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Literal, Self

from pulldrop.jobs.vehicle.watch import Watched
from pulldrop.judge.socket.levels import Change
from pulldrop.judge.socket.losses import Loss
from pulldrop.model.bench.identity import Identity
from pulldrop.model.vehicle.lead import Clip
from pulldrop.model.vehicle.view import LineView, WatchView

EVERY_S, STALE_S, KEPT = 0.2, 0.7, 12
SILENT = "Nothing new comes from the board. Look at its USB cable."


class WatchPages:
    """Use as a context manager. `show` takes each view, `said` words what happened, `move` what to move or wait for."""

    def __init__(
        self,
        board: Identity,
        show: Callable[[WatchView], None],
        said: Callable[[Watched, Clip, Change | Loss], str],
        move: Callable[[Watched], str] = lambda _: "",
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._board, self._show, self._said, self._move, self._clock = board, show, said, move, clock
        self._last: deque[str] = deque(maxlen=KEPT)
        self._view: WatchView | None = None
        self._told = ""
        self._readings, self._heard_s, self._laid_s = 0, clock(), 0.0
        self._lock, self._over = threading.Lock(), threading.Event()
        self._guard = threading.Thread(target=self._watch_over, name="watch pages", daemon=True)

    def __enter__(self) -> Self:
        self._guard.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._guard.join()

    def __call__(self, seen: Watched, clip: Clip | None, what: Change | Loss | None) -> None:
        """As a watch tells it."""
        moment, cue = (self._view.moment, self._view.cue) if self._view else ("", _cue(None))
        if clip is not None and what is not None:
            self._last.appendleft(self._said(seen, clip, what))
            moment, cue = f"{clip} {what.at_s:.3f} {type(what).__name__}", _cue(what)
        with self._lock:
            if seen.readings != self._readings:
                self._readings, self._heard_s = seen.readings, self._clock()
            lines = tuple(_line(seen, one) for one in seen.names)
            words = [line.word for line in lines]
            view, self._told = self._view, seen.stale
            same = view is not None and [line.word for line in view.lines] == words and not view.stale
            if same and what is None and not seen.stale and self._clock() - self._laid_s < EVERY_S:
                return
            self._lay(
                WatchView(
                    simulated=self._board.simulated, version=self._next, board=_about(self._board), lines=lines,
                    battery_v=seen.battery, at_s=seen.at_s, lost=seen.lost, moment=moment, cue=cue,
                    last=tuple(self._last), stale=seen.stale, move=self._move(seen),
                )
            )  # fmt: skip

    @property
    def _next(self) -> int:
        return self._view.version + 1 if self._view else 1

    def _lay(self, view: WatchView) -> None:
        self._view, self._laid_s = view, self._clock()
        self._show(view)

    def _watch_over(self) -> None:
        while not self._over.wait(EVERY_S):
            self.keep()

    def keep(self) -> None:
        """Lay the view down again where none was for a while, stale where nothing new came: boards take time."""
        with self._lock:
            if self._view is None or self._clock() - self._laid_s < EVERY_S:
                return
            stale = self._told or (SILENT if self._clock() - self._heard_s > STALE_S else "")
            self._lay(self._view.model_copy(update={"version": self._next, "stale": stale}))


def _line(seen: Watched, clip: Clip) -> LineView:
    line = seen.lines[clip]
    return LineView(
        name=seen.names[clip], clip=clip, word=line.live, volts=round(seen.volts.get(clip, 0.0), 2),
        hz=line.hz if line.live == "PULSED" else 0.0, duty=line.duty,
    )  # fmt: skip


def _cue(what: Change | Loss | None) -> Literal["", "on", "off", "between", "loss"]:
    if what is None:
        return ""
    if isinstance(what, Loss) or what.blink_s:
        return "loss"
    return "on" if what.word == "ON" else "off" if what.word == "OFF" else "between"


def _about(board: Identity) -> str:
    return f"{board.kind} board {board.serial}, vehicle lead; checked under the vehicle's own load"
