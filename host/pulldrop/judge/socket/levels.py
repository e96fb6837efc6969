"""The word for a watched line, ON, LOW, WEAK, OFF or PULSED, by the battery's volts of the same moment.

Rule: nothing here waits or shows; readings go in, changes come out. A word counts once it stood: 0.1 s for ON, because
fast flashers light for 125 to 167 ms (practice), 20 ms for the others; what is shorter is a blink, and is told too.
"""

from dataclasses import dataclass, field
from typing import Literal

Word = Literal["ON", "LOW", "WEAK", "OFF", "PULSED"]
ON_SHARE, PULLS_SHARE, OFF_V = 0.8, 0.65, 1.0
"""Above 80 % of the battery a line is on, from 65 % a relay pulls (60 to 70, makers' sheets), below 1 V it is off
(practice)."""
ON_S, ELSE_S = 0.1, 0.02
HIGH, LOW = 0.6, 0.4
"""Shares of the battery at which a pulse begins and ends."""
RISES, UNEVEN, SLOWEST_S = 4, 0.25, 2.5
"""A line is pulsed from so many rises on whose periods differ by no more than this share, up to that period."""


@dataclass(frozen=True, slots=True)
class Change:
    """From `at_s` on the line is `word`; `hz` and `duty` where it is pulsed. `blink_s`: it was something else for so
    long only, down or up to `share` of the battery, and is `word` again."""

    at_s: float
    word: Word
    share: float
    hz: float = 0.0
    duty: float = 0.0
    blink_s: float = 0.0


def level(volts: float, battery: float) -> Word:
    """Of one moment."""
    if volts < OFF_V:
        return "OFF"
    share = volts / battery if battery > OFF_V else 0.0
    return "ON" if share > ON_SHARE else "LOW" if share >= PULLS_SHARE else "WEAK"


@dataclass
class Line:
    """One watched line."""

    word: Word | None = None
    hz: float = 0.0
    duty: float = 0.0
    _now: Word = "OFF"
    _since: float = 0.0
    _deepest: float = 0.0
    _high: bool | None = None
    _rises: list[float] = field(default_factory=list)
    _falls: list[float] = field(default_factory=list)
    _before: tuple[float, float] = (0.0, 0.0)

    @property
    def live(self) -> Word:
        """The word of this very moment; one that is still to stand is no change yet."""
        return "PULSED" if self.word == "PULSED" else self._now

    def feed(self, at_s: float, volts: float, battery: float) -> list[Change]:
        """One reading; what it changed."""
        share = volts / battery if battery > OFF_V else 0.0
        self._edges(at_s, share)
        if self._pulsed(at_s):
            return self._as_pulsed(at_s, share)
        return self._as_level(at_s, share, level(volts, battery))

    def _as_level(self, at_s: float, share: float, now: Word) -> list[Change]:
        if now != self._now:
            changes = self._blinked(at_s, now)
            self._now, self._since, self._deepest = now, at_s, share
            return changes
        if self.word is not None and abs(share - 1) > abs(self._deepest - 1) and self.word == "ON":
            self._deepest = share
        if now != self.word and at_s - self._since >= (ON_S if now == "ON" else ELSE_S):
            self.word, self.hz, self.duty = now, 0.0, 0.0
            return [Change(self._since, now, share)]
        return []

    def _blinked(self, at_s: float, now: Word) -> list[Change]:
        """The word that stood comes back before another one did."""
        if self.word is None or now != self.word or self._now == self.word:
            return []
        return [Change(self._since, self.word, self._deepest, blink_s=at_s - self._since)]

    def _as_pulsed(self, at_s: float, share: float) -> list[Change]:
        hz, duty = self._rate()
        new = self.word != "PULSED" or abs(hz - self.hz) > 0.1 * self.hz or abs(duty - self.duty) > 0.1
        self._now, self._since = level(share * 12, 12.0), at_s
        if not new:
            return []
        self.word, self.hz, self.duty = "PULSED", hz, duty
        return [Change(at_s, "PULSED", share, hz=hz, duty=duty)]

    def _edges(self, at_s: float, share: float) -> None:
        before_s, before = self._before
        self._before = (at_s, share)
        if self._high is None:
            self._high = share > (HIGH + LOW) / 2
        elif not self._high and share > HIGH:
            self._high = True
            self._rises = [*self._rises, _crossed(before_s, before, at_s, share)][-RISES:]
        elif self._high and share < LOW:
            self._high = False
            self._falls = [*self._falls, _crossed(before_s, before, at_s, share)][-RISES:]

    def _pulsed(self, at_s: float) -> bool:
        if len(self._rises) < RISES or len(self._falls) < RISES - 1:
            return False
        periods = [b - a for a, b in zip(self._rises, self._rises[1:], strict=False)]
        mean = sum(periods) / len(periods)
        even = all(abs(one - mean) <= UNEVEN * mean for one in periods)
        return even and mean <= SLOWEST_S and at_s - max(self._rises[-1], self._falls[-1]) < 1.5 * mean

    def _rate(self) -> tuple[float, float]:
        """Hz and duty over the last whole periods."""
        first, last = self._rises[0], self._rises[-1]
        lit = sum(min((fall for fall in self._falls if fall > rise), default=last) - rise for rise in self._rises[:-1])
        return (len(self._rises) - 1) / (last - first), min(max(lit / (last - first), 0.0), 1.0)


def _crossed(before_s: float, before: float, at_s: float, share: float) -> float:
    """When the half was passed, between two readings."""
    middle = (HIGH + LOW) / 2
    if share == before or not min(before, share) <= middle <= max(before, share):
        return at_s
    return before_s + (middle - before) / (share - before) * (at_s - before_s)
