"""Watches up to three wires: a word for each, every change shown and kept, losses filed under the place that was moved.

Rule: what is shown was written first. A board that is gone is waited for, and shown as stale meanwhile.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from pulldrop.board.errors import BoardError, Refused
from pulldrop.jobs.vehicle.log import Log
from pulldrop.judge.socket.levels import Change, Line
from pulldrop.judge.socket.losses import Loss, Wiggle
from pulldrop.measure.lead import LeadRig
from pulldrop.model.vehicle.lead import CLIPS, Clip, LeadReading

EVERY_S, BEAT_S, AGAIN_S = 0.02, 1.0, 0.5
"""From one look to the next; from one line of the log to the next where nothing happens; between tries for a board."""


@dataclass
class Watched:
    """What is known of each line by now. `at_s` of the newest reading; `stale`: the board is silent, and why."""

    names: Mapping[Clip, str]
    lines: dict[Clip, Line] = field(default_factory=dict)
    volts: dict[Clip, float] = field(default_factory=dict)
    battery: float = 0.0
    at_s: float = 0.0
    readings: int = 0
    lost: int = 0
    stale: str = ""
    wiggles: dict[Clip, Wiggle] = field(default_factory=dict)


Tell = Callable[[Watched, Clip | None, Change | Loss | None], object]
"""Shows what happened on a line, or None that time goes on."""


@dataclass
class Watch:
    """Of `names`, by clip. `place`: what the person moves now, for a wiggle, else None. `until_s`: end; None: never.

    `sleep`: waits for a board that is gone; None: that ends the watch. `pace`: holds simulated time to the clock.
    """

    rig: LeadRig
    names: Mapping[Clip, str]
    log: Log
    tell: Tell
    place: Callable[[], str] | None = None
    until_s: float | None = None
    over: Callable[[], bool] = lambda: False
    sleep: Callable[[float], None] | None = None
    pace: Callable[[float], None] | None = None
    marks: int = 0

    def mark(self) -> None:
        """A person's tap: this moment matters; from any thread."""
        self.marks += 1

    def run(self) -> Watched:
        """Until it is over. Raises LogTrouble."""
        seen = Watched(self.names, lines={clip: Line() for clip in self.names})
        if self.place:
            seen.wiggles = {clip: Wiggle() for clip in self.names}
        watch, beat_s, offset_s = self.rig.watch(), 0.0, 0.0
        while not self.over() and (self.until_s is None or seen.at_s < self.until_s):
            try:
                self.rig.pause(EVERY_S)
                if self.pace:
                    self.pace(EVERY_S)
                for one in watch.read():
                    self._take(seen, one, offset_s)
                seen.stale = ""
            except Refused:
                watch, offset_s = self.rig.watch(), seen.at_s  # the lease ended while the computer stood still
                self.log.write(at_s=round(seen.at_s, 4), gap="the watch had ended and was begun again")
            except BoardError as error:
                self._lost(seen, error)
                watch, offset_s = self.rig.watch(), seen.at_s
            self.tell(seen, None, None)
            if self.marks:
                self.marks = 0
                self._beat(seen, mark=True)
            if seen.at_s - beat_s >= BEAT_S:
                beat_s = seen.at_s
                self._beat(seen)
        self._beat(seen)
        return seen

    def _take(self, seen: Watched, one: LeadReading, offset_s: float) -> None:
        seen.at_s, seen.battery = offset_s + one.at_s, one.volts[0]
        seen.readings += 1
        if one.lost:
            seen.lost += one.lost
            self.log.write(at_s=round(seen.at_s, 4), lost=one.lost)
        for clip in self.names:
            volts = seen.volts[clip] = one.volts[1 + CLIPS.index(clip)]
            for change in seen.lines[clip].feed(seen.at_s, volts, seen.battery):
                self._change(seen, clip, change)
            if self.place:
                wiggle = seen.wiggles[clip]
                wiggle.place = self.place()
                if loss := wiggle.feed(seen.at_s, volts, seen.battery):
                    self._loss(seen, clip, loss)

    def _change(self, seen: Watched, clip: Clip, change: Change) -> None:
        line = {"at_s": round(change.at_s, 4), "clip": clip, "line": self.names[clip], "word": change.word,
                "share": round(change.share, 3), "battery_v": round(seen.battery, 2)}  # fmt: skip
        if change.word == "PULSED":
            line |= {"hz": round(change.hz, 2), "duty": round(change.duty, 2)}
        if change.blink_s:
            line |= {"blink_ms": round(change.blink_s * 1000, 1)}
        self.log.write(**line)
        self.tell(seen, clip, change)

    def _loss(self, seen: Watched, clip: Clip, loss: Loss) -> None:
        self.log.write(
            at_s=round(loss.at_s, 4), clip=clip, line=self.names[clip], loss=round(loss.depth, 3),
            ms=round(loss.seconds * 1000, 1), place=loss.place or "quiet",
        )  # fmt: skip
        self.tell(seen, clip, loss)

    def _beat(self, seen: Watched, mark: bool = False) -> None:
        words = {clip: line.word for clip, line in seen.lines.items()}
        volts = {clip: round(value, 2) for clip, value in seen.volts.items()}
        self.log.write(
            at_s=round(seen.at_s, 3), battery_v=round(seen.battery, 2), words=words, volts=volts,
            readings=seen.readings, **({"mark": True} if mark else {}),
        )  # fmt: skip

    def _lost(self, seen: Watched, error: BoardError) -> None:
        """Wait for the board, as long as it takes. Raises the error where nobody waits."""
        seen.stale = str(error)
        self.log.write(at_s=round(seen.at_s, 4), gap=str(error))
        if self.sleep is None:
            raise error
        while not self.over():
            self.tell(seen, None, None)
            self.sleep(AGAIN_S)
            try:
                self.rig.board.reopen()
            except BoardError as again:
                seen.stale = str(again)
                continue
            self.log.write(at_s=round(seen.at_s, 4), gap="the board is back")
            return
        raise error
