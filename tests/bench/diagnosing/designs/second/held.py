"""The second plant's relay while armature and leaf rest: only flux and current are stepped, in longer steps; where
these rest too, nothing but the winding's temperature is.
"""

from designs.second import iron
from designs.second.around import NEAR_M, OPEN_OHM, AroundWinding
from designs.second.equations import CREEP_M_S, State, Step, Touch, advanced
from designs.second.warmth import warmed

LONG_S = 250e-6
"""Longest step with the armature held."""
LIFTED_S = 1e-6
"""To which the moment is found at which the armature leaves a stop."""
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
WARM_SHARE = 2e-3
"""Change of the steady current by warmth after which the flux is stepped again."""
WARM_S, WARM_EACH_S = 0.25, 2e-3
"""Longest and shortest time for which the winding's warmth is taken as it was."""


class Held(AroundWinding):
    """Steps of a held armature, and how it comes to be held and lifts off."""

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

    @property
    def _fast(self) -> bool:
        """Whether something else than force holds the armature."""
        return bool(self.design.defects.stuck) or self.t < self._gummed_until

    def _tried(self, step: Step, h: float) -> State:
        s = advanced(self._equations.rates, self._s, step, h)
        return (self._equations.current(s, step), *s[1:]) if step.follows else s

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
