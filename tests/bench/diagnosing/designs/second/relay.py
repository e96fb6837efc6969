"""The second plant as a bench drives it: the same calls as the host's relay, none of its code.

Rule: a step ends where a contact, a stop or the circuit around the winding changes, found to 0.2 us.
"""

import random
from collections.abc import Sequence
from math import exp, inf

from designs.second.around import FINE_S, NC, NEVER, NO, Parts
from designs.second.design import Design
from designs.second.equations import State
from designs.second.held import SLOW_M_S, WARM_S, Held
from pulldrop.plant.relay.suppression import (
    NOMINAL,
    CoilCircuit,
    Feed,
    Harness,
    Suppression,
    at_socket,
    bench_network,
    circuit,
)

FOUND_S = 0.2e-6
NOW_S = 1e-10
CALM_S = 1.5e-3
"""Nothing touched or parted for so long before the armature counts as held."""
LOOSENS_V = 5.0
"""A supply above it pulls at a gummed armature."""

KEPT = (
    "parts", "near_c", "far_c", "_own_ohm", "_heat_j", "_heat_s", "t", "feed", "_draw", "_friction", "_bounce",
    "_s", "_branch", "_from_t", "_held", "quiet", "_follows", "_lag_v", "_lags_since", "_free_a", "_calm_since",
    "_quiet_a", "_network", "_built", "_source", "_ohm", "_low", "_high", "_touch", "told",
    "_gummed_until",
)  # fmt: skip
"""All that changes, but for the welds; every value immutable."""
Change = tuple[float, int, bool]


class SecondRelay(Held):
    """It begins at rest, with everything off and the iron without magnetism. `seed` None: every move alike."""

    def __init__(
        self,
        design: Design,
        suppression: Suppression,
        temperature_c: float,
        seed: int | None = None,
        harness: Harness = NOMINAL,
        fine_s: float = FINE_S,
    ) -> None:
        super().__init__(design, suppression, temperature_c, seed, harness, fine_s)
        self._rebuild()
        if design.defects.stuck:
            self._hold()
        self.advance(0.05)
        self.t = self._calm_since = 0.0
        self.told = self.touching

    @property
    def mode(self) -> str:
        """`rest` while the armature is held."""
        return "rest" if self._held else "move"

    @property
    def pace(self) -> float:
        """Length of the next whole step, s."""
        return self._held_step_s() if self._held else self._fine_s

    def circuit(self) -> CoilCircuit:
        """Volts and amps around the coil, as the bench could measure them: now, or where it looked back to."""
        at, amps = self._looked[1:] if self._looked[0] == self.t else (self.t, self._s[0])
        supply_v = self.feed.volts(at)
        outer = bench_network(self._harness, supply_v, self.feed.switch, self.feed.diode)
        steady = self.settled and supply_v == self.feed.to_v
        network = self._network if steady else outer.beside(self.parts.suppression)
        source, ohm, _, _ = network.segment(amps)
        socket_v, through = at_socket(outer, self.parts.suppression, source - ohm * amps)
        bench_v = socket_v + self._harness.lead_ohm * through
        return circuit(bench_v, supply_v, self.feed.switch, self._harness)

    def look_back(self, t: float, amps: float) -> None:
        """From here until time goes on, `circuit` is that of a moment since the last drive, when it had these amps."""
        self._looked = (self.t, t, amps)

    def drive(self, volts: float, switch: bool, diode: bool) -> None:
        """New coil supply target, switch and clamp, from this moment on."""
        old = self.feed
        self._looked = NEVER
        if (volts, switch, diode) == (old.to_v, old.switch, old.diode):
            return
        self.feed = Feed(old.volts(self.t), volts, self.t, switch, diode)
        if self._gummed_until > self.t:
            pulled = switch and volts > LOOSENS_V
            self._gummed_until = min(self._gummed_until, self.t + self.design.defects.gummed_s) if pulled else inf
        if switch != old.switch:
            self._another_move()
        self._woken()
        self._lags_from_now()
        self._rebuild()

    def stick(self, throw: int, newton: float) -> None:
        """A throw, where it touches now, is welded with a force."""
        self.weld[throw] = newton
        self._woken()

    def exchange_leads(self) -> None:
        """The two coil leads change places, everything off: whatever has a sign has the other."""
        part = self.parts.suppression
        self.parts = Parts(part.model_copy(update={"reversed": not part.reversed}))
        i, p, q, *rest = self._s
        self._s = (-i, -p, -q, *rest)  # type: ignore[assignment]
        self._branch = (-self._branch[0], -self._branch[1])
        self._from_t = (-self._from_t[0], -self._from_t[1])
        self._woken()
        self._rebuild()

    def _woken(self) -> None:
        self.quiet, self._calm_since = False, self.t
        if self._fast:
            return
        if self._held and self._lifts(self._s):
            self._lift()

    def _another_move(self) -> None:
        """Friction and loss at the contacts differ a little from move to move."""
        if self._seed is None:
            return
        self._draw += 1
        chance = random.Random(self._seed * 1000003 + self._draw)
        self._friction = self.design.hinge.friction_n * exp(self.design.friction_scatter * chance.gauss(0, 1))
        self._bounce = exp(self.design.bounce_scatter * chance.gauss(0, 1))

    def advance(self, until: float) -> list[Change]:
        """Step to `until`; the changes of touch since then as (time, throw, closed), in order of time."""
        changes: list[Change] = []
        if self.t < self._gummed_until < until:
            changes = self._advanced(self._gummed_until)
            self._gummed_until = 0.0
            self._woken()
        return changes + self._advanced(until)

    def advance_through(self, times: Sequence[float]) -> tuple[list[Change], list[float]]:
        """Step to the last of these moments; all changes, and the amps of the winding at each."""
        changes, amps = list[Change](), list[float]()
        for at in times:
            changes += self.advance(at)
            amps.append(self._s[0])
        return changes, amps

    def _advanced(self, until: float) -> list[Change]:
        changes: list[Change] = []
        while until - self.t > NOW_S:
            if self.quiet:
                self._rest(min(until - self.t, WARM_S))
                continue
            h = until - self.t
            if not self._built:
                if self.settled:
                    self._rebuild()
                else:
                    h = min(self._fine_s * 2, h)
                    self._rebuild(h)
            if self._held:
                self._held_step(min(h, self._held_step_s()))
            else:
                self._moving_step(min(h, self._fine_s), changes)
        self.told = self.touching
        return changes

    def _moving_step(self, h: float, changes: list[Change]) -> None:
        """To the step's end, or to where something touches, parts, or changes around the winding."""
        step = self._step(self._stiff())
        s = self._tried(step, h)
        if self._same(s):
            self._taken(s, h)
        else:
            low, high = 0.0, h
            while high - low > FOUND_S:
                middle = (low + high) / 2
                tried = self._tried(step, middle)
                if self._same(tried):
                    low = middle
                else:
                    high, s = middle, tried
            self._taken(s, high)
            self._noted(changes)
            if not self._low <= s[0] <= self._high:
                self._pick(s[0])
        if self.t - self._calm_since > CALM_S and abs(s[4]) < SLOW_M_S and self._may_hold():
            self._hold()

    def _same(self, s: State) -> bool:
        return self._low <= s[0] <= self._high and self._touches(s) == self._touch

    def _noted(self, changes: list[Change]) -> None:
        before, self._touch = self._touch, self._touches(self._s)
        if before == self._touch:
            return
        self._calm_since = self.t
        for throw in (NO, NC):
            if before[throw] != self._touch[throw]:
                changes.append((self.t, throw, self._touch[throw]))
        self._torn()

    def snapshot(self) -> tuple[object, ...]:
        """Everything that changes."""
        return (*(getattr(self, name) for name in KEPT), tuple(self.weld))

    def restore(self, snapshot: tuple[object, ...]) -> None:
        """Back to a snapshot of this relay."""
        *values, weld = snapshot
        for name, value in zip(KEPT, values, strict=True):
            setattr(self, name, value)
        self.weld = list(weld)  # type: ignore[call-overload]
        self._looked = NEVER
