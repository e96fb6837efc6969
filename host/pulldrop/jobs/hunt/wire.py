"""The hunted wire while a person is at the controls: its level by the battery of the same moment, and when it changed.

Rule: it drives nothing. What counts as a level is `judge/socket/levels`'s; a wire that goes on changing by itself is
looked at until it is known to pulse, or not.
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from pulldrop.board.errors import BoardError, Refused
from pulldrop.judge.socket.levels import Line, Word
from pulldrop.measure.lead import LeadRig
from pulldrop.model.hunt.look import ACTS, Side, WireLevel, WireLook
from pulldrop.model.vehicle.lead import LeadReading

EVERY_S, AGAIN_S = 0.03, 0.5
"""From one reading of what came to the next (a board keeps 0.15 s); between tries for a board."""
SETTLE_S = 0.15
"""Added to each look: a level counts once it stood for 0.1 s."""
EDGES, CALM_S, PULSE_S = 2, 1.5, 10.0
"""A wire that changed so often without a hand is looked at until it was calm for so long, or for so long in all: the
slowest pulse that is one has a period of 2.5 s."""
HIGH: dict[Word, WireLevel] = {
    "ON": WireLevel.ON,
    "LOW": WireLevel.LOW,
    "WEAK": WireLevel.WEAK,
    "OFF": WireLevel.OPEN,
    "PULSED": WireLevel.PULSED,
}
LOW: dict[Word, WireLevel] = dict.fromkeys(HIGH, WireLevel.OPEN) | {
    "OFF": WireLevel.GROUND,
    "PULSED": WireLevel.PULSED,
}
"""A wire that is switched to ground is fed through its coil else."""
LEVELS = {Side.HIGH: HIGH, Side.LOW: LOW}

Read = Callable[[], Sequence[LeadReading]]
"""Waits a little, and gives what came meanwhile: X1 is the battery, X2 the wire."""


@dataclass(frozen=True, slots=True)
class Edge:
    """The wire has had this level since `at_s`."""

    at_s: float
    level: WireLevel


def by_lead(rig: LeadRig, lost: Callable[[str], None], sleep: Callable[[float], None] | None) -> Read:
    """The wire at X2 of a vehicle lead. A board that is gone is waited for by `sleep`, and `lost` says why; what was
    not seen meanwhile counts as lost readings. Without `sleep` nobody waits: raises BoardError."""
    watch, offset_s, now_s, gap = rig.watch(), 0.0, 0.0, 0

    def read() -> Sequence[LeadReading]:
        nonlocal watch, offset_s, now_s, gap
        try:
            rig.pause(EVERY_S)
            came = [replace(one, at_s=one.at_s + offset_s) for one in watch.read()]
        except BoardError as error:
            if not isinstance(error, Refused):  # else the lease ended while the computer stood still
                lost(str(error))
                _wait_for(rig, lost, sleep, error)
            watch, offset_s, gap = rig.watch(), now_s, 1
            return ()
        if came:
            came[0] = replace(came[0], lost=came[0].lost + gap)
            now_s, gap = came[-1].at_s, 0
        return came

    return read


def _wait_for(
    rig: LeadRig, lost: Callable[[str], None], sleep: Callable[[float], None] | None, error: BoardError
) -> None:  # fmt: skip
    if sleep is None:
        raise error
    while True:
        sleep(AGAIN_S)
        try:
            rig.board.reopen()
        except BoardError as again:
            lost(str(again))
            continue
        return


class HuntedWire:
    """One wire. `read` is called again and again."""

    def __init__(self, read: Read, side: Side) -> None:
        self._read, self._side = read, side
        self._line = Line()
        self._edges: deque[Edge] = deque(maxlen=200)
        self._gap_s = float("-inf")
        self.now_s, self.battery_v, self.wire_v = 0.0, 0.0, 0.0

    @property
    def level(self) -> WireLevel:
        """The last that stood."""
        return self._edges[-1].level if self._edges else WireLevel.OPEN

    def poll(self) -> None:
        """Take what came."""
        for one in self._read():
            self._take(one)

    def settle(self) -> None:
        """Poll until a first level stood."""
        while not self._edges:
            self.poll()

    def after(self, asked_s: float, wait_s: float, fall_s: float) -> WireLook:
        """The look after a move that was asked at `asked_s` and is done now: watched for `wait_s`, or where the wire
        was on before it until it is off, `fall_s` at most. No delay is given where readings were lost."""
        done_s, was_on = self.now_s, self._acts(self._level_at(asked_s))
        while self.now_s < done_s + (fall_s if was_on and self._acts(self.level) else wait_s) + SETTLE_S:
            self.poll()
        while self._changes(done_s) and self.level is not WireLevel.PULSED and self.now_s < done_s + PULSE_S:
            self.poll()
        edges = (one for one in self._edges if one.at_s > asked_s and self._acts(one.level) != was_on)
        changed = next(edges, None)
        late_s = max(0.0, changed.at_s - done_s) if changed and self._gap_s < asked_s else None
        return WireLook(
            level=self.level,
            rose_s=None if was_on else late_s,
            fell_s=late_s if was_on else None,
            battery_v=round(self.battery_v, 2),
        )

    def edges_since(self, at_s: float) -> list[Edge]:
        """Levels that began after a moment."""
        return [one for one in self._edges if one.at_s > at_s]

    def _acts(self, level: WireLevel) -> bool:
        return level in ACTS[self._side]

    def _changes(self, done_s: float) -> bool:
        edges = self.edges_since(done_s)
        return len(edges) >= EDGES and self.now_s - edges[-1].at_s < CALM_S

    def _level_at(self, at_s: float) -> WireLevel:
        return next((one.level for one in reversed(self._edges) if one.at_s <= at_s), WireLevel.OPEN)

    def _take(self, one: LeadReading) -> None:
        self.now_s, (self.battery_v, self.wire_v) = one.at_s, one.volts[:2]
        if one.lost:
            self._gap_s = one.at_s
        for change in self._line.feed(one.at_s, self.wire_v, self.battery_v):
            level = LEVELS[self._side][change.word]
            if not self._edges or self._edges[-1].level is not level:
                self._edges.append(Edge(change.at_s, level))
