"""One relay in time: how it is driven, and the moments at which its contacts change; its steps are in motion.py.

Rule 1: time runs on a grid that starts again with every change of the drive; a part of a step is only looked at,
and is undone before the next whole step, so that splitting an advance does not change what happens.
Rule 2: when nothing but the winding's temperature changes the coil is quiet, and parts of a step are not looked at;
when that has come to rest too the relay is still, and nothing is stepped.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from operator import attrgetter

from pulldrop.plant.relay.armature import NC as NC
from pulldrop.plant.relay.armature import NO as NO
from pulldrop.plant.relay.armature import Change
from pulldrop.plant.relay.body import STEPPED, Body, stepped
from pulldrop.plant.relay.iron import traced
from pulldrop.plant.relay.motion import BEND_A, NOW_S, PACE_SUPPLY_S, step
from pulldrop.plant.relay.parts import RelayParts
from pulldrop.plant.relay.suppression import NOMINAL, Feed, Harness

STATE = (*STEPPED, "feed", "trace_a", "gummed", "loose_at", "_whole", "_reported", "_reported_at")
"""All that a drive or an advance changes; every value immutable, or never changed."""
_state = attrgetter(*STATE)
STRAINS = 0.5
"""Share of the nominal ampere-turns from which on a coil pulls hard enough on a gummed armature (assumed)."""


class RelayModel(Body):
    """A part that is driven, and reports when its contacts change. It begins at rest, with everything off."""

    def __init__(
        self, parts: RelayParts, temperature_c: float, seed: int | None = None, harness: Harness = NOMINAL
    ) -> None:
        super().__init__(parts, temperature_c, seed, harness)
        self._whole: dict[str, object] | None = None
        self.trace_a = parts.residual_at_a
        self._reported, self._reported_at = self.touching, 0.0
        self.advance(0.2)
        self.t = self._reported_at = 0.0

    @property
    def told(self) -> tuple[bool, bool]:
        """Touch of NO and NC at the last advance."""
        return self._reported

    # --- drive ---

    def drive(self, volts: float, switch: bool, diode: bool) -> None:
        """New coil supply target, switch and clamp, from this moment on."""
        old = self.feed
        if (volts, switch, diode) == (old.to_v, old.switch, old.diode):
            return
        self._magnetise(self.i * self.parts.coil.turns)
        self.feed = Feed(old.volts(self.t), volts, self.t, switch, diode)
        self.settled = False
        self.rebuild(self.t)
        self._whole, self.still, self.quiet = None, False, False
        if self.gummed:
            self._strain()
        self.enter("rest" if self.mode == "rest" else "move")
        if self.mode == "rest" and (switch, diode) == (old.switch, old.diode):
            self.pace = PACE_SUPPLY_S

    def stick(self, throw: int, newton: float) -> None:
        """A throw, where it touches now, is welded with a force; the grid starts again."""
        self.weld = (newton, self.weld[NC]) if throw == NO else (self.weld[NO], newton)
        self._whole = None
        if self.mode == "creep":
            self.enter("move")

    def exchange_leads(self) -> None:
        """The two coil leads change places, everything off: seen from the bench, whatever has a sign has the other."""
        suppression = self.parts.suppression
        turned = suppression.model_copy(update={"reversed": not suppression.reversed})
        self.parts = replace(self.parts, suppression=turned)
        self.phi, self.i = -self.phi, -self.i
        self._keep(-self.trace_a)
        self.rebuild(self.t)
        self._whole, self.still, self.quiet = None, False, False
        self.enter("rest" if self.mode == "rest" else "move")

    def _magnetise(self, ampere_turns: float) -> None:
        kept_a = self.parts.coil.residual_mmf_a
        self._keep(traced(self.trace_a, ampere_turns, self.parts.residual_at_a, kept_a))

    def _keep(self, trace_a: float) -> None:
        """The iron keeps in proportion to the field whose trace is in it."""
        self.trace_a = trace_a
        self.magnetics.residual = self.parts.coil.residual_mmf_a * trace_a / self.parts.residual_at_a

    # --- time ---

    def _strain(self) -> None:
        """A coil switched on at STRAINS of its nominal field or more pulls a gummed armature loose, if it stays on."""
        coil = self.parts.coil
        pulls = self.feed.to_v / coil.resistance_ohm * coil.turns >= STRAINS * self.parts.residual_at_a
        if not (self.feed.switch and pulls):
            self.loose_at = math.inf
        elif self.loose_at == math.inf:
            self.loose_at = self.t + self.parts.gummed_s

    def _come_loose(self) -> None:
        """Nothing but springs and friction holds a gummed armature from now on; the grid starts again."""
        self.gummed, self.loose_at = False, math.inf
        self.come_to_rest()
        self._whole, self.still, self.quiet = None, False, False

    def advance(self, until: float) -> list[Change]:
        """Step to `until`; the changes of touch since the last call as (time, throw, closed), in order of time."""
        if self.loose_at > until:
            return self._advance(until)
        changes = self._advance(self.loose_at)
        self._come_loose()
        return changes + self._advance(until)

    def advance_through(self, times: Sequence[float]) -> tuple[list[Change], list[float]]:
        """Step to the last of these moments as `advance` does; and the coil's amps at each, on curves between steps."""
        self.trace = trace = [(self.t, self.i)]
        changes = self.advance(times[-1])
        trace.append((self.t, self.i))
        self.trace = None
        amps, at_step, ended_s = list[float](), -1, -math.inf
        for at in times:
            while ended_s < at and at_step < len(trace) - 2:
                at_step += 1
                ended_s = trace[at_step + 1][0]
                from_s, from_a, length_s, slope, bend = between(trace, at_step)
            passed = at - from_s
            amps.append(from_a + passed * (slope - bend * (length_s - passed)))
        return changes, amps

    def _advance(self, until: float) -> list[Change]:
        if self._whole is not None:
            self.__dict__.update(self._whole)
            self._whole = None
        changes: list[Change] = []
        while not self.still and self.t + self.pace <= until + NOW_S:
            step(self, until, self.pace, changes)
        if self.still:
            self.heat(until - self.t)
            self.t = until
        elif until - self.t > NOW_S:
            self._whole = {"t": self.t} if self.quiet else dict(zip(STEPPED, stepped(self), strict=True))
            while not self.quiet and until - self.t > NOW_S:
                step(self, until, min(self.pace, until - self.t), changes)
        self.t = until
        return self._news(changes, until)

    def _news(self, changes: list[Change], until: float) -> list[Change]:
        """Drop edges that a part of a step gave already, now that the step is taken whole."""
        if not changes and self.touching == self._reported:
            self._reported_at = until
            return []
        news = []
        changes += [(until, throw, self.touching[throw]) for throw in (NO, NC)]
        for at, throw, closed in changes:
            if closed != self._reported[throw]:
                no, nc = self._reported
                self._reported = (closed, nc) if throw == NO else (no, closed)
                news.append((max(at, self._reported_at), throw, closed))
        self._reported_at = until
        return sorted(news)

    def snapshot(self) -> tuple[object, ...]:
        """Everything that changes, immutable."""
        return _state(self)

    def restore(self, snapshot: tuple[object, ...]) -> None:
        """Back to a snapshot of this relay."""
        self.__dict__.update(zip(STATE, snapshot, strict=True))
        self._keep(self.trace_a)


def between(trace: list[tuple[float, float]], at: int) -> tuple[float, float, float, float, float]:
    """One step of a trace: where it begins, s and A; its length, s; its slope, A/s; and how it bends, A/s2.

    It bends as far as the next step, or the last but one at the end, has another slope; not at all if that is far more
    than a step at rest may bend, for then something turned over between the two.
    """
    (from_s, from_a), (to_s, to_a) = trace[at], trace[at + 1]
    length_s = to_s - from_s
    slope = (to_a - from_a) / length_s if length_s > 0 else 0.0
    beside = at + 1 if at + 2 < len(trace) else at - 1
    if beside < 0 or trace[beside + 1][0] <= trace[beside][0]:
        return from_s, from_a, length_s, slope, 0.0
    (early_s, early_a), (late_s, late_a) = trace[beside : beside + 2]
    bend = ((late_a - early_a) / (late_s - early_s) - slope) / (early_s + late_s - from_s - to_s)
    return from_s, from_a, length_s, slope, bend if abs(bend) * length_s**2 < BEND_A else 0.0
