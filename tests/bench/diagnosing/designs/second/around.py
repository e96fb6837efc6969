"""State of the second plant's relay, the network around its winding, and what touches what at a moment.

Rule: nothing here lets time pass.
"""

from dataclasses import dataclass
from math import inf

from designs.second.design import Design
from designs.second.equations import Equations, State, Step, Touch, damping
from designs.second.warmth import copper_ohm
from pulldrop.plant.relay.suppression import (
    NOMINAL,
    Feed,
    Harness,
    Network,
    Suppression,
    bench_network,
)

NO, NC = 0, 1
NEVER = (-1.0, 0.0, 0.0)
"""No moment that was looked back to."""
NEAR_M = 1e-7
"""So far a contact that touches is pressed at first, and a stop while the armature rests on it."""
FINE_S = 12.5e-6
"""Step of the moving part; its error is in equations.py."""
STIFF = 1.6
"""Rate times step above which a current is not stepped (the method holds to 2.78)."""
OPEN_OHM = 1e9


@dataclass(frozen=True, slots=True)
class Parts:
    """What the bench asks of a part beside its motion."""

    suppression: Suppression


class AroundWinding:
    """Its state, the network around the winding, and what touches what."""

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

    def _lags_from_now(self) -> None:
        """The current waits for the winding's leakage again."""
        self._follows, self._lag_v, self._lags_since = False, 0.0, self.t

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


def _presses(spring_n: float, damper_n: float) -> bool:
    """Kelvin-Voigt without pull: pressed together, and pushing."""
    return spring_n > 0 and spring_n + damper_n > 0
