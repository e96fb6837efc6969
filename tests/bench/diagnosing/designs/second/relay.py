"""The second plant as a bench drives it: the same calls as the host's relay, none of its code.

Rule: a step ends where a contact, a stop or the circuit around the winding changes, found to 0.2 us. Where the
armature is held by a stop or by friction only flux and current are stepped, in longer steps; where these rest too,
nothing but the winding's temperature is.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, inf

from designs.second import iron
from designs.second.design import Design
from designs.second.equations import CREEP_M_S, Equations, State, Step, Touch, advanced, damping
from designs.second.warmth import copper_ohm, warmed
from pulldrop.plant.relay.suppression import (
    NOMINAL,
    CoilCircuit,
    Feed,
    Harness,
    Network,
    Suppression,
    at_socket,
    bench_network,
    circuit,
)

NO, NC = 0, 1
NEVER = (-1.0, 0.0, 0.0)
"""No moment that was looked back to."""
FINE_S = 12.5e-6
"""Step of the moving part; its error is in equations.py."""
LONG_S = 250e-6
"""Longest step with the armature held."""
FOUND_S = 0.2e-6
NEAR_M = 1e-7
"""So far a contact that touches is pressed at first, and a stop while the armature rests on it."""
LIFTED_S = 1e-6
"""To which the moment is found at which the armature leaves a stop."""
NOW_S = 1e-10
CALM_S = 1.5e-3
"""Nothing touched or parted for so long before the armature counts as held."""
SLOW_M_S = 3e-3
SETTLED_V = 2e-4
"""Induced volts below which flux and current rest."""
FOLLOWS_AFTER = 12
"""Time constants of the winding's own leakage after a change, held, from which on the volts across it are those of the
step before: what is left of the change is then below 1e-5, and the steps may be as long as the flux allows."""
QUICKER = 0.25
"""The current is taken to follow only while it settles so much quicker than the flux: in a core deep in saturation,
whose flux settles as quickly, the two would swing against each other."""
BENDS_V = 0.02
"""Volts over that leakage above which such a step is at most BENDS_S long: their lag of half a step is then worth
less than 0.1 % of 12 V."""
BENDS_S = 100e-6
STIFF = 1.6
"""Rate times step above which a current is not stepped (the method holds to 2.78)."""
OPEN_OHM = 1e9
LOOSENS_V = 5.0
"""A supply above it pulls at a gummed armature."""
WARM_SHARE = 2e-3
"""Change of the steady current by warmth after which the flux is stepped again."""
WARM_S, WARM_EACH_S = 0.25, 2e-3
"""Longest and shortest time for which the winding's warmth is taken as it was."""

KEPT = (
    "parts", "near_c", "far_c", "_own_ohm", "_heat_j", "_heat_s", "t", "feed", "_draw", "_friction", "_bounce",
    "_s", "_branch", "_from_t", "_held", "quiet", "_follows", "_lag_v", "_lags_since", "_free_a", "_calm_since",
    "_quiet_a", "_network", "_built", "_source", "_ohm", "_low", "_high", "_touch", "told",
    "_gummed_until",
)  # fmt: skip
"""All that changes, but for the welds; every value immutable."""
Change = tuple[float, int, bool]


@dataclass(frozen=True, slots=True)
class Parts:
    """What the bench asks of a part beside its motion."""

    suppression: Suppression


class SecondRelay:
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
        self.design, self.parts, self._harness, self._seed = design, Parts(suppression), harness, seed
        self._equations = Equations(design)
        self._fine_s = min(fine_s, STIFF / self._equations.fastest_per_s)
        self.room_c = self.near_c = self.far_c = temperature_c
        self._own_ohm, self._heat_j, self._heat_s = self._ohm_now(), 0.0, 0.0
        self.t, self.feed, self._looked = 0.0, Feed(), NEVER
        self._gummed_until = inf if design.defects.gummed_s else 0.0
        self.weld = [design.defects.weld_no, design.defects.weld_nc]
        self._draw = 0
        self._friction, self._bounce = design.hinge.friction_n, 1.0
        leaf = design.leaf
        operated = design.defects.stuck == "operated" or design.defects.weld_no > 0
        z = design.hinge.travel_m if operated else 0.0
        y = leaf.gap_m + NEAR_M if operated else -NEAR_M if design.changeover else -leaf.preload_m
        self._s: State = (0.0, 0.0, 0.0, z, 0.0, y, 0.0)
        self._branch, self._from_t = (0.0, 0.0), (0.0, 0.0)
        self._contact_c = damping(leaf.bounce, leaf.fixed_n_m, leaf.mass)
        self._stop_c = damping(design.hinge.bounce, design.hinge.stop_n_m, design.hinge.inertia_kg)
        self._held, self.quiet = False, False
        self._follows, self._lag_v, self._lags_since, self._free_a = False, 0.0, 0.0, 0.0
        self._calm_since, self._quiet_a = 0.0, 0.0
        self._touch = self._touches(self._s)
        self._rebuild()
        if design.defects.stuck:
            self._hold()
        self.advance(0.05)
        self.t = self._calm_since = 0.0
        self.told = self.touching

    # --- what the bench sees ---

    @property
    def touching(self) -> tuple[bool, bool]:
        """NO and NC."""
        return (self._touch.no, self._touch.nc)

    @property
    def force(self) -> tuple[float, float]:
        """Newtons on NO and NC; a weld counts as half a newton at least, for it conducts."""
        k, (y, vy) = self.design.leaf.fixed_n_m, self._s[5:]
        pressed = (k * (y - self.design.leaf.gap_m) + self._contact_c * vy, -k * y - self._contact_c * vy)
        least = [0.5 if self.weld[throw] and self.touching[throw] else 0.0 for throw in (NO, NC)]
        return (max(pressed[NO], least[NO], 0.0), max(pressed[NC], least[NC], 0.0))

    @property
    def mode(self) -> str:
        """`rest` while the armature is held."""
        return "rest" if self._held else "move"

    @property
    def pace(self) -> float:
        """Length of the next whole step, s."""
        return self._held_step_s() if self._held else self._fine_s

    @property
    def settled(self) -> bool:
        """Whether the supply's volts have come to their target."""
        return self.feed.volts(self.t) == self.feed.to_v

    @property
    def ohm(self) -> float:
        """Of the winding as it is now."""
        return self._own_ohm

    def _ohm_now(self) -> float:
        defects = self.design.defects
        opened = defects.opens_above_c is not None and self.near_c > defects.opens_above_c
        if defects.coil_open or opened:
            return OPEN_OHM
        return copper_ohm(self.design.winding.ohm, self.near_c) * defects.ohm_factor * (1 - defects.shorted)

    @property
    def temperature(self) -> float:
        """Of the winding, degC."""
        return self.near_c

    @property
    def state(self) -> State:
        """Amps, both fluxes, armature, leaf: as in equations.py."""
        return self._s

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

    # --- drive ---

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

    def _lags_from_now(self) -> None:
        """The current waits for the winding's leakage again."""
        self._follows, self._lag_v, self._lags_since = False, 0.0, self.t

    def _another_move(self) -> None:
        """Friction and loss at the contacts differ a little from move to move."""
        if self._seed is None:
            return
        self._draw += 1
        chance = random.Random(self._seed * 1000003 + self._draw)
        self._friction = self.design.hinge.friction_n * exp(self.design.friction_scatter * chance.gauss(0, 1))
        self._bounce = exp(self.design.bounce_scatter * chance.gauss(0, 1))

    # --- the circuit around the winding ---

    def _rebuild(self, ahead_s: float = 0.0) -> None:
        """The network for the supply's volts now, or on average for a time from now."""
        volts = self.feed.volts(self.t, ahead_s)
        bench = bench_network(self._harness, volts, self.feed.switch, self.feed.diode)
        self._network: Network = bench.beside(self.parts.suppression)
        self._built = self.settled
        self._pick(self._s[0])

    def _pick(self, amps: float) -> None:
        """The part of the network that holds at a current; where a current cannot be stepped, where it follows to."""
        for _ in range(12):
            self._source, self._ohm, self._low, self._high = self._network.segment(amps)
            if not self._stiff():
                break
            i = self._equations.current(self._s, self._step(True))
            if self._low <= i <= self._high:
                amps = i
                break
            amps = self._low - 1e-12 if i < self._low else self._high + 1e-12
        self._s = (amps, *self._s[1:])

    def _stiff(self) -> bool:
        """Whether the current follows its flux at once: too fast for the step, or too slow to matter."""
        if self._follows and self._held:
            return True
        rate = (self.ohm + self._ohm + self._equations.eddy_ohm) / self.design.gap.winding_h
        return rate * self._fine_s > STIFF

    def _step(self, follows: bool) -> Step:
        lag_v = self._lag_v if follows and self._follows and self._held else 0.0
        return Step(
            self._source - lag_v, self._ohm + self.ohm, follows, self._touch, self._friction, self._bounce,
            self._branch, self._from_t, self._held,
        )  # fmt: skip

    # --- what touches ---

    def _touches(self, s: State) -> Touch:
        hinge, leaf = self.design.hinge, self.design.leaf
        _, _, _, z, vz, y, vy = s
        k, c = leaf.fixed_n_m, self._contact_c * self._bounce
        no = self._closed(NO, k * (y - leaf.gap_m), c * vy)
        nc = self.design.changeover and self._closed(NC, -k * y, -c * vy)
        pole = _presses(hinge.stop_n_m * (z - hinge.travel_m), self._stop_c * vz)
        back = _presses(-hinge.stop_n_m * z, -self._stop_c * vz)
        return Touch(no, nc, pole, back)

    def _closed(self, throw: int, spring_n: float, damper_n: float) -> bool:
        """Contacts push and do not pull, but for a weld, where one is and it holds."""
        weld = self.weld[throw]
        return spring_n + damper_n > -weld if weld else _presses(spring_n, damper_n)

    def _torn(self) -> None:
        """A weld that has parted is none any more."""
        for throw in (NO, NC):
            if self.weld[throw] and not self.touching[throw]:
                self.weld[throw] = 0.0

    # --- time ---

    @property
    def _fast(self) -> bool:
        """Whether something else than force holds the armature."""
        return bool(self.design.defects.stuck) or self.t < self._gummed_until

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

    def _taken(self, s: State, h: float) -> None:
        """A step's end becomes the state: branches of the iron, warmth, time."""
        metal, half = self.design.iron, self.design.iron.area / 2
        now = (s[1] / half, s[2] / half)
        self._branch = (
            iron.turned(metal, self._branch[0], now[0] - self._from_t[0]),
            iron.turned(metal, self._branch[1], now[1] - self._from_t[1]),
        )
        self._from_t = now
        self._warm(s[0], h)
        self._s, self.t = s, self.t + h

    def _warm(self, amps: float, h: float) -> None:
        """Heat is gathered for a while before it counts."""
        if self._own_ohm < OPEN_OHM:
            self._heat_j += amps * amps * self._own_ohm * h
        self._heat_s += h
        if self._heat_s < WARM_EACH_S:
            return
        watts, w = self._heat_j / self._heat_s, self.design.winding
        self.near_c, self.far_c = warmed(w, self.room_c, self.near_c, self.far_c, watts, self._heat_s)
        self._own_ohm, self._heat_j, self._heat_s = self._ohm_now(), 0.0, 0.0

    def _tried(self, step: Step, h: float) -> State:
        s = advanced(self._equations.rates, self._s, step, h)
        return (self._equations.current(s, step), *s[1:]) if step.follows else s

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

    # --- held ---

    def _may_hold(self) -> bool:
        """Whether armature and leaf rest, as far as anybody could see."""
        touch, (z, vz, y, vy) = self._touch, self._s[3:]
        leaf = self.design.leaf
        if abs(vy) > (SLOW_M_S if touch.no or touch.nc else 5 * SLOW_M_S):
            return False
        resting = self._leaf_rests(z, touch)
        if abs(resting - y) > (2e-6 if touch.no or touch.nc else 0.03 * leaf.gap_m):
            return False
        if touch.pole or touch.back:
            return True
        return abs(vz) < CREEP_M_S and abs(self._net(z, self._s)) < self._friction

    def _hold(self) -> None:
        """Armature and leaf stay; both where forces balance. How far a blow had pressed a stop is forgotten."""
        i, p, q, z, _, _, _ = self._s
        z = self.design.hinge.travel_m + NEAR_M if self._touch.pole else -NEAR_M if self._touch.back else z
        self._s = (i, p, q, z, 0.0, self._leaf_rests(z, self._touch), 0.0)
        self._touch = self._touches(self._s)
        self._held = True
        self._lags_from_now()

    def _leaf_rests(self, z: float, touch: Touch) -> float:
        """Where the leaf's end comes to rest."""
        leaf = self.design.leaf
        base, k = leaf.lever * z - leaf.preload_m, leaf.fixed_n_m
        return (leaf.rate * base + touch.no * k * leaf.gap_m) / (leaf.rate + k * (touch.no + touch.nc))

    def _net(self, z: float, s: State) -> float:
        """Newtons that close the armature at rest, friction and stops apart."""
        hinge, leaf = self.design.hinge, self.design.leaf
        bends = leaf.rate * (leaf.lever * z - leaf.preload_m - self._leaf_rests(z, self._touch))
        return iron.pull(self.design, s[1] + s[2], z) - hinge.spring_n - hinge.rate * z - leaf.lever * bends

    def _lifts(self, s: State) -> bool:
        """Whether a held armature moves."""
        if self._touch.pole:
            return self._net(self.design.hinge.travel_m, s) < -self._friction
        if self._touch.back:
            return self._net(0.0, s) > self._friction
        return abs(self._net(s[3], s)) > self._friction

    def _flux_per_s(self) -> float:
        """The highest rate at which the flux settles now."""
        design, half = self.design, self.design.iron.area / 2
        stiffest = max(iron.slope(design.iron, self._s[1] / half), iron.slope(design.iron, self._s[2] / half))
        per_wb = design.iron.length_m * stiffest / half
        outer_s = self._equations.outer_s
        return (iron.gap_reluctance(design, self._s[3]) + per_wb) / outer_s + 2 * per_wb / design.iron.eddy_s

    def _settles_s(self) -> float:
        """Time constant of the current behind the winding's own leakage."""
        return self.design.gap.winding_h / (self.ohm + self._ohm + self._equations.eddy_ohm)

    def _held_step_s(self) -> float:
        """As long as the fastest of flux and current allows."""
        flux = self._flux_per_s()
        if self._stiff():
            return min(BENDS_S if abs(self._lag_v) > BENDS_V else LONG_S, 1.5 / flux)
        return min(4 * self._fine_s, 1 / flux, self._settles_s())

    def _held_step(self, h: float) -> None:
        step = self._step(self._stiff())
        s = self._tried(step, h)
        lifts = self._breaks_off(s)
        if lifts:
            low, high = 0.0, h
            while high - low > LIFTED_S:
                middle = (low + high) / 2
                tried = self._tried(step, middle)
                if self._breaks_off(tried):
                    high, s = middle, tried
                else:
                    low = middle
            h = high
        before = self._s
        self._taken(s, h)
        if not self._low <= s[0] <= self._high:
            self._pick(s[0])
            self._lags_from_now()
        if lifts and not self._fast and self._lifts(s):
            self._lift()
        else:
            self._calmer(before, h)

    def _breaks_off(self, s: State) -> bool:
        inside = self._low <= s[0] <= self._high
        return not inside or (not self._fast and self._lifts(s))

    def _lift(self) -> None:
        """Off a stop with nothing left that presses on it."""
        i, p, q, z, _, _, _ = self._s
        z = self.design.hinge.travel_m if self._touch.pole else 0.0 if self._touch.back else z
        self._s = (i, p, q, z, 0.0, self._leaf_rests(z, self._touch), 0.0)
        self._held, self._calm_since = False, self.t
        self._touch = self._touches(self._s)

    def _calmer(self, before: State, h: float) -> None:
        """Longer steps once current and flux change slowly, none once they rest."""
        design = self.design
        induced = abs(self._s[1] + self._s[2] - before[1] - before[2]) / h * self._equations.turns
        inner = abs(self._s[2] - before[2]) / h * self._equations.turns
        ohm = self.ohm + self._ohm + self._equations.eddy_ohm
        if self._follows:  # from what the current would be without lag, for a lag that feeds on itself swings
            free_a = self._s[0] + self._lag_v / ohm
            self._lag_v = (free_a - self._free_a) / h * design.gap.winding_h
        else:
            self._lag_v = (self._s[0] - before[0]) / h * design.gap.winding_h
            free_a = self._s[0] + self._lag_v / ohm
            settles_s = self._settles_s()
            settled = self.t - self._lags_since > FOLLOWS_AFTER * settles_s
            self._follows = settled and self._built and settles_s * self._flux_per_s() < QUICKER
        self._free_a = free_a
        if self._built and max(induced, inner) < SETTLED_V:
            self.quiet, self._quiet_a = True, self._s[0]

    def _rest(self, h: float) -> None:
        """Only warmth changes: the current with the winding's ohms, and the flux once that has gone far enough."""
        self._warm(self._s[0], h)
        self.t += h
        total = self._ohm + self.ohm
        amps = self._source / total
        self._s = (amps, *self._s[1:])
        if abs(amps - self._quiet_a) > WARM_SHARE * abs(self._quiet_a) + 1e-7:
            self.quiet = False
            if not self._low <= amps <= self._high:
                self._pick(amps)

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


def _presses(spring_n: float, damper_n: float) -> bool:
    """Kelvin-Voigt without pull: pressed together, and pushing."""
    return spring_n > 0 and spring_n + damper_n > 0
