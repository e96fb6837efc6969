"""One relay at one moment: its coil with the network around it, its moving parts, and which of them move.

Rule: here is what a moment holds and what follows from it; how one moment leads to the next is in motion.py.
"""

import math
from math import exp
from operator import attrgetter
from typing import Literal

from pulldrop.plant.noise import Chance
from pulldrop.plant.relay.armature import Mechanics, part_before
from pulldrop.plant.relay.coil import Magnetics, copper_ohm
from pulldrop.plant.relay.parts import RelayParts
from pulldrop.plant.relay.suppression import CoilCircuit, Feed, Harness, Network, at_socket, bench_network, circuit

OPEN_OHM = 1e8
"""A broken winding."""
JUST = 1e-6
"""How much more than what holds it, in proportion, moves the armature: a pull that comes to rest at that very force
would else set it free and find it held, again and again."""
MOST_CORNERS, JUST_A = 4, 1e-9
"""Corners of the network that one step may cross, and how far beyond a corner is surely beyond it."""

Mode = Literal["rest", "creep", "swing", "move"]
"""What moves: nothing; the armature, slowly, and the leaf follows; the leaf alone; all."""
FIRST_S: dict[Mode, float] = {"rest": 2.5e-6, "creep": 200e-6, "swing": 40e-6, "move": 10e-6}
"""First step in each of them; only at rest does it grow."""

STEPPED = (
    "t", "phi", "i", "s", "v", "z", "w", "force", "touching", "weld", "rise_k", "ohm", "friction", "damping", "_chance",
    "mode", "still", "quiet", "pace", "slope", "flux_v", "outer", "net", "settled", "segment", "pull_up", "pull_down",
)  # fmt: skip
"""What a step changes; every value immutable."""
stepped = attrgetter(*STEPPED)


class Body:
    """Forces in N, metres and seconds inside; `touching` is not yet conducting.

    `seed` None: no scatter from move to move.
    """

    def __init__(self, parts: RelayParts, temperature_c: float, seed: int | None, harness: Harness) -> None:
        self.parts = parts
        self.harness = harness
        self.ambient_c = temperature_c
        self.rise_k = 0.0 if parts.winding_c is None else parts.winding_c - temperature_c
        self._heats, self._warms_s = parts.coil.heating_k_per_w, parts.coil.heating_s
        self._ohm_at_20c = parts.coil.resistance_ohm * parts.coil_factor * (1 - parts.shorted_fraction)
        above_c = parts.opens_above_c if parts.opens_above_c is not None else math.inf
        self._opens_above_c = -math.inf if parts.coil_open else above_c
        self.ohm = self._winding_ohm()
        self.magnetics = Magnetics(parts.coil, parts.shorted_fraction)
        self.mechanics = mech = Mechanics(parts.armature, parts.changeover)
        self.friction, self.damping, self._chance = mech.friction, mech.c_fixed, seed
        self.weld = (parts.weld_no_n, parts.weld_nc_n)
        # state: time, flux, current, armature place and speed, contact place and speed
        self.t, self.phi, self.i = 0.0, 0.0, 0.0
        self.gummed, self.loose_at = parts.gummed_s > 0, math.inf
        self.s, self.v, self.w = mech.travel if parts.starts_operated else 0.0, 0.0, 0.0
        self.z = mech.no_at if parts.weld_no_n or parts.starts_operated else max(mech.nc_at, 0.0)
        self.force = (0.0, 0.0)
        self.touching = (self.z >= mech.no_at, self.z <= mech.nc_at)
        self.still, self.quiet = False, False
        self.slope, self.flux_v = 0.0, 0.0
        self.trace: list[tuple[float, float]] | None = None
        self.enter("move")
        # drive
        self._open = tuple(bench_network(harness, 0.0, switch, diode=False) for switch in (False, True))
        self.feed = Feed()
        self.rebuild(0.0)
        self.look_back(self.t, self.i)
        self.pull_up, self.pull_down = math.inf, -math.inf

    def enter(self, mode: Mode) -> None:
        """Move in another way from now on."""
        self.mode, self.pace = mode, FIRST_S[mode]

    def come_to_rest(self) -> None:
        """What holds the armature where it is now."""
        mech = self.mechanics
        self.enter("rest")
        self.force = mech.forces_at_rest(self.z)
        if self.s <= 0 or self.s >= mech.travel:  # a rest on the way is still the same move
            self._draw_next_move()
        least, most = mech.holds_between(self.s, self.z, self.friction)
        self.pull_down, self.pull_up = least * (1 - JUST), math.inf if self.gummed else most * (1 + JUST)

    def _draw_next_move(self) -> None:
        """The hinge's friction and the contacts' loss in the next move."""
        if self._chance is not None:
            chance = Chance(self._chance)
            mech = self.mechanics
            self.friction = mech.friction * math.exp(mech.scatter * chance.normal())
            self.damping = mech.c_fixed * math.exp(mech.damping_scatter * chance.normal())
            self._chance = chance.state

    # --- the coil ---

    def rebuild(self, at: float, ahead_s: float = 0.0) -> None:
        """The network at a moment, or on average over a time from then; for good once the supply has settled."""
        feed, volts = self.feed, self.feed.volts(at, ahead_s)
        self.settled = volts == feed.to_v
        self.outer = self._bench(volts)
        self.net = self.outer.beside(self.parts.suppression)
        self.segment = self.net.segment(self.i)

    def _bench(self, volts: float) -> Network:
        """The bench as the coil's terminals see it now; without its diode it is the same at all volts, but raised."""
        switch, diode = self.feed.switch, self.feed.diode
        return bench_network(self.harness, volts, switch, True) if diode else self._open[switch].raised(volts)

    def _winding_ohm(self) -> float:
        """Resistance of the winding at its temperature now."""
        temperature_c = self.ambient_c + self.rise_k
        if temperature_c > self._opens_above_c:
            return OPEN_OHM
        return copper_ohm(self._ohm_at_20c, temperature_c)

    def circuit(self) -> CoilCircuit:
        """Volts and amps around the coil now; reckoned once for each moment, however many converters look."""
        t, i, outer, around = self._around
        if t != self.t or i != self.i or outer is not self.outer:
            around = self.look_back(self.t, self.i)
        return around

    def look_back(self, t: float, i: float) -> CoilCircuit:
        """Volts and amps around the coil at a moment since the last drive; `circuit` has them until time goes on."""
        around = self._circuit(t, i)
        self._around = self.t, self.i, self.outer, around
        return around

    def _circuit(self, t: float, i: float) -> CoilCircuit:
        feed, outer, net, lead_ohm = self.feed, self.outer, self.net, self.harness.lead_ohm
        volts = feed.volts(t)
        if not self.settled or volts != feed.to_v:
            outer = self._bench(volts)
            net = outer.beside(self.parts.suppression)
        u0, ohm, _, _ = net.segment(i)
        socket_v, amps = at_socket(outer, self.parts.suppression, u0 - ohm * i)
        return circuit(socket_v + lead_ohm * amps, volts, feed.switch, self.harness)

    def heat(self, h: float) -> None:
        """Let the current of now warm the winding for a time."""
        if self._heats and h > 0:
            i = self.i
            to_k = self._heats * i * i * self.ohm
            self.rise_k += (to_k - self.rise_k) * (1 - exp(-h / self._warms_s))
            self.ohm = self._winding_ohm()

    def to_warm_k(self) -> float:
        """Kelvin between the winding and where its current would bring it."""
        return abs(self._heats * self.i * self.i * self.ohm - self.rise_k) if self._heats else 0.0

    def across(self, phi: float, i: float, gap: float, h: float, beyond: float) -> tuple[float, float]:
        """Flux and current after a step that would end `beyond` a corner of the network: to the corner, and on."""
        step, ohm = self.magnetics.step, self.ohm
        for _ in range(MOST_CORNERS):
            u0, source, low, high = self.segment
            corner = low - JUST_A if beyond < low else high + JUST_A
            part = part_before(i, beyond, corner)
            phi, _ = step(phi, i, gap, h * part, u0, ohm + source)
            i, h = corner, h * (1 - part)
            self.segment = u0, source, low, high = self.net.segment(i)
            to_phi, beyond = step(phi, i, gap, h, u0, ohm + source)
            if low <= beyond <= high:
                return to_phi, beyond
        return phi, i
