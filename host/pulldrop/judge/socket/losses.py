"""Losses of a watched line while a person taps, twists and moves its wires, beside 20 s in which nobody did.

A loss sounds that is deeper than 5 %, or lasts 3 ms and is beyond what the quiet time showed (practice).
"""

from dataclasses import dataclass, field

from pulldrop.model.raw import LEAD_S

QUIET_S = 20.0
DEEP, LASTS_S, BEYOND = 0.05, 3e-3, 1.5
"""Share of the level; seconds; times the deepest dip of the quiet time."""
LOW = 0.1
"""Share of the battery up to which a line is a ground: its loss is a rise, as a share of the battery."""
FOLLOWS = 0.02
"""Share of a reading by which the level is drawn after it: a battery that sags is no loss."""


@dataclass(frozen=True, slots=True)
class Loss:
    """From `at_s` on for `seconds`, down to 1 - `depth` of the level; `place`: what was moved, none in the quiet."""

    at_s: float
    seconds: float
    depth: float
    place: str


@dataclass
class Wiggle:
    """One line. `place` is what the person moves now."""

    place: str = ""
    losses: list[Loss] = field(default_factory=list)
    quiet_deepest: float = 0.0
    _level: float | None = None
    _began: float | None = None
    _since: float | None = None
    _deepest: float = 0.0

    @property
    def quiet_losses(self) -> list[Loss]:
        """What came without a hand on the wire: heat, or a loose end that needs none."""
        return [one for one in self.losses if not one.place]

    def quiet_left(self, at_s: float) -> float:
        """Seconds of the quiet time that are left."""
        return max(QUIET_S - (at_s - (at_s if self._began is None else self._began)), 0.0)

    def feed(self, at_s: float, volts: float, battery: float) -> Loss | None:
        """One reading; the loss that ended with it, if one did. Shares of the battery, so that its sag is none."""
        share = volts / battery if battery > 1.0 else 0.0
        if self._level is None:
            self._level, self._began = share, at_s
        depth = 1 - share / self._level if self._level > LOW else share - self._level
        quiet = self.quiet_left(at_s) > 0
        if quiet and depth < DEEP:
            self.quiet_deepest = max(self.quiet_deepest, depth)
        lost = depth > DEEP or (depth > BEYOND * max(self.quiet_deepest, DEEP / 10) and not quiet)
        if lost:
            self._since = at_s if self._since is None else self._since
            self._deepest = max(self._deepest, depth)
            return None
        self._level += FOLLOWS * (share - self._level)
        return self._ended(at_s)

    def _ended(self, at_s: float) -> Loss | None:
        if self._since is None:
            return None
        found = Loss(self._since, at_s - self._since, self._deepest, "" if self.quiet_left(self._since) else self.place)
        self._since, self._deepest = None, 0.0
        if found.depth <= DEEP and found.seconds < LASTS_S + LEAD_S / 2:
            return None
        self.losses.append(found)
        return found
