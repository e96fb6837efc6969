"""One relay in time: the coil, the armature and the leaf stepped together, and the moments its contacts change.

Rule 1: time runs on a grid that starts anew with every change of the drive; a part of a step is only looked at,
and is undone before the next whole step, so that splitting an advance does not change what happens.
Rule 2: small steps only while something moves. At rest only the coil is stepped, with a growing step. When nothing
but the winding's temperature changes the coil is quiet, and parts of a step are not looked at; when that has come to
rest too it is still, and nothing is stepped.
"""

import math
from operator import attrgetter

from pulldrop.plant.armature import Mechanics
from pulldrop.plant.coil import Magnetics, copper_ohm
from pulldrop.plant.noise import Chance
from pulldrop.plant.parts import Parts
from pulldrop.plant.suppression import NOMINAL, SETTLE_S, CoilCircuit, Feed, Harness, at_socket, bench_network, circuit

MOVE_S = 10e-6
"""Step while the armature or the leaf moves."""
PACE_S, PACE_GROWTH, PACE_MOST_S, PACE_LEAVING_S = 2.5e-6, 1.15, 0.4e-3, 50e-6
"""Step at rest: first after a change, growth from step to step, longest, longest in which the armature may leave."""
STILL_V, STILL_A_PER_S = 1e-4, 1e-4
"""Volts of flux change, and slope of current, below which the coil counts as still."""
PACE_A = 3e-3
"""A step that changes the current by more is followed by a shorter one."""
QUIET_A_PER_S, PACE_QUIET_S, WARM_K = 1e-3, 50e-3, 1e-3
"""Slope of current below which only warmth changes it, longest step then (10 uA), and rise below which that ends."""
REBOUND_M_PER_S = 0.01
"""Armature speed below which a stop takes it without rebound."""
OPEN_OHM = 1e8
"""A broken winding."""
JUST = 1e-6
"""How much more than the holding force, in proportion, moves the armature."""
MOST_CORNERS, JUST_A = 4, 1e-9
"""Corners of the network that one step may cross, and how far beyond a corner is surely beyond it."""
NOW_S = 1e-10
"""Two moments closer than this are the same."""

MOST_FIELD = 2.0
"""Times nominal: a stronger field leaves no more in the iron (assumed)."""

NO, NC = 0, 1

STEPPED = (
    "t", "phi", "i", "s", "v", "z", "w", "force", "touching", "weld", "rise_k", "ohm", "friction", "damping", "_chance",
    "moving", "still", "quiet", "pace", "_outer", "_net", "_settled", "_segment", "_pull_up", "_pull_down",
)  # fmt: skip
STATE = (*STEPPED, "feed", "most_a", "_whole", "_reported", "_reported_at")
"""What a step changes, and all that a drive or an advance changes; every value immutable."""
_stepped, _state = attrgetter(*STEPPED), attrgetter(*STATE)


class Relay:
    """State and steps. Forces in N, metres and seconds inside; `touching` is not yet conducting.

    `seed` None: no scatter from move to move.
    """

    def __init__(self, parts: Parts, temperature_c: float, seed: int | None = None, harness: Harness = NOMINAL) -> None:
        self.parts = parts
        self.harness = harness
        self.ambient_c = temperature_c
        self.rise_k = 0.0
        self.ohm = self._winding_ohm()
        self.magnetics = Magnetics(parts.coil, parts.shorted_fraction)
        self.mechanics = mech = Mechanics(parts.armature, parts.changeover)
        self.friction, self.damping, self._chance = mech.friction, mech.c_fixed, seed
        self.weld = (parts.weld_no_n, parts.weld_nc_n)
        # state: time, flux, current, armature place and speed, contact place and speed
        self.t, self.phi, self.i = 0.0, 0.0, 0.0
        self.s, self.v, self.w = mech.travel if parts.starts_operated else 0.0, 0.0, 0.0
        self.z = mech.no_at if parts.weld_no_n or parts.starts_operated else max(mech.nc_at, 0.0)
        self.force = (0.0, 0.0)
        self.touching = (self.z >= mech.no_at, self.z <= mech.nc_at)
        self.moving, self.still, self.quiet, self.pace = True, False, False, PACE_S
        self._whole: tuple[object, ...] | None = None
        self._reported, self._reported_at = self.touching, 0.0
        # drive
        self.feed, self.most_a = Feed(), parts.residual_at_a
        self._rebuild(0.0)
        self._pull_up, self._pull_down = math.inf, -math.inf
        self.advance(0.2)
        self.t = self._reported_at = 0.0

    @property
    def told(self) -> tuple[bool, bool]:
        """Touch of NO and NC as the last advance told it."""
        return self._reported

    # --- drive ---

    def drive(self, volts: float, switch: bool, diode: bool) -> None:
        """New coil supply target, switch and clamp, from this moment on."""
        old = self.feed
        if (volts, switch, diode) == (old.to_v, old.switch, old.diode):
            return
        self._magnetise(self.i * self.parts.coil.turns)
        self.feed = Feed(old.volts(self.t), volts, self.t, switch, diode)
        self._settled = False
        self._rebuild(self.t)
        self._whole, self.still, self.quiet, self.pace = None, False, False, PACE_S

    def _rebuild(self, at: float) -> None:
        """The network as it will be at a moment; for good once the supply has settled."""
        feed, volts = self.feed, self.feed.volts(at)
        self._settled = volts == feed.to_v
        self._outer = bench_network(self.harness, volts, feed.switch, feed.diode)
        self._net = self._outer.beside(self.parts.suppression)
        self._segment = self._net.segment(self.i)

    def _winding_ohm(self) -> float:
        """Resistance of the winding at its temperature now."""
        above = self.parts.opens_above_c
        if self.parts.coil_open or (above is not None and self.ambient_c + self.rise_k > above):
            return OPEN_OHM
        ohm = self.parts.coil.resistance_ohm * self.parts.coil_factor * (1 - self.parts.shorted_fraction)
        return copper_ohm(ohm, self.ambient_c + self.rise_k)

    def circuit(self) -> CoilCircuit:
        """Volts and amps around the coil now."""
        feed, volts, lead_ohm = self.feed, self.feed.volts(self.t), self.harness.lead_ohm
        outer, net = self._outer, self._net
        if not self._settled:
            outer = bench_network(self.harness, volts, feed.switch, feed.diode)
            net = outer.beside(self.parts.suppression)
        u0, ohm, _, _ = net.segment(self.i)
        socket_v, amps = at_socket(outer, self.parts.suppression, u0 - ohm * self.i)
        return circuit(socket_v + lead_ohm * amps, volts, feed.switch, self.harness)

    def tack(self, newton: float) -> None:
        """NO, where it touches now, is welded with a force; the grid starts anew."""
        self.weld = (newton, self.weld[1])
        self._whole = None

    def _magnetise(self, ampere_turns: float) -> None:
        """Iron keeps in proportion to the strongest field that it was in (assumed: hardened iron, far from full)."""
        self.most_a = min(max(self.most_a, ampere_turns), MOST_FIELD * self.parts.residual_at_a)
        self.magnetics.residual = self.parts.coil.residual_mmf_a * self.most_a / self.parts.residual_at_a

    # --- time ---

    def advance(self, until: float) -> list[tuple[float, int, bool]]:
        """Step to `until`; the changes of touch since the last call as (time, throw, closed), in order of time."""
        if self._whole is not None:
            for name, value in zip(STEPPED, self._whole, strict=True):
                setattr(self, name, value)
            self._whole = None
        changes: list[tuple[float, int, bool]] = []
        while not self.still and self.t + (MOVE_S if self.moving else self.pace) <= until + NOW_S:
            if self.moving:
                self._move(until, MOVE_S, changes)
            else:
                self._rest(self.pace)
        if self.still:
            self._heat(until - self.t)
            self.t = until
        elif until - self.t > NOW_S:
            self._whole = _stepped(self)
            while not self.quiet and until - self.t > NOW_S:
                if self.moving:
                    self._move(until, min(MOVE_S, until - self.t), changes)
                else:
                    self._rest(min(self.pace, until - self.t))
        self.t = until
        return self._news(changes, until)

    def _news(self, changes: list[tuple[float, int, bool]], until: float) -> list[tuple[float, int, bool]]:
        """Drop what was told already, by a part of a step that has since been taken whole."""
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
        for name, value in zip(STATE, snapshot, strict=True):
            setattr(self, name, value)
        self._magnetise(self.most_a)

    def _heat(self, h: float) -> None:
        coil = self.parts.coil
        if coil.heating_k_per_w and h > 0:
            to = coil.heating_k_per_w * self.i * self.i * self.ohm
            self.rise_k += (to - self.rise_k) * (1 - math.exp(-h / coil.heating_s))
            self.ohm = self._winding_ohm()

    def _to_warm_k(self) -> float:
        """Kelvin between the winding and where its current would bring it."""
        coil = self.parts.coil
        to = coil.heating_k_per_w * self.i * self.i * self.ohm
        return abs(to - self.rise_k) if coil.heating_k_per_w else 0.0

    # --- the coil ---

    def _across(self, phi: float, i: float, gap: float, h: float, beyond: float) -> tuple[float, float]:
        """Flux and current after a step that would end `beyond` a corner of the network: to the corner, and on."""
        step, ohm = self.magnetics.step, self.ohm
        for _ in range(MOST_CORNERS):
            u0, source, low, high = self._segment
            corner = low - JUST_A if beyond < low else high + JUST_A
            part = _part(i, beyond, corner)
            phi, _ = step(phi, i, gap, h * part, u0, ohm + source)
            i, h = corner, h * (1 - part)
            self._segment = u0, source, low, high = self._net.segment(i)
            to_phi, beyond = step(phi, i, gap, h, u0, ohm + source)
            if low <= beyond <= high:
                return to_phi, beyond
        return phi, i

    # --- at rest: the coil alone ---

    def _rest(self, h: float) -> None:
        if not self._settled:
            h = min(h, SETTLE_S / 3)
            self._rebuild(self.t + 0.5 * h)
        gap, ohm = self.mechanics.travel - self.s, self.ohm
        u0, source, low, high = self._segment
        phi, i = self.magnetics.step(self.phi, self.i, gap, h, u0, ohm + source)
        if not low <= i <= high:
            if h > PACE_S * 1.001:
                self.pace = PACE_S
                return
            phi, i = self._across(self.phi, self.i, gap, h, i)
            self.pace = PACE_S
        pull = self.magnetics.pull_gain * phi * abs(phi)
        if pull > self._pull_up or pull < self._pull_down:
            if h > PACE_LEAVING_S * 1.001:
                self.pace = PACE_LEAVING_S
                return
            edge = self._pull_up * (1 + JUST) if pull > self._pull_up else self._pull_down * (1 - JUST)
            at = math.copysign(math.sqrt(abs(edge) / self.magnetics.pull_gain), edge)
            part = (at - self.phi) / (phi - self.phi) if phi != self.phi else 0.0
            h *= min(max(part, 0.0), 1.0)
            if h > 0:
                phi, i = self.magnetics.step(self.phi, self.i, gap, h, u0, ohm + source)
            self.moving = True
        else:
            self._calm(abs(phi - self.phi) * self.magnetics.turns / h, abs(i - self.i), h)
        self.phi, self.i = phi, i
        self.t += h
        self._heat(h)

    def _calm(self, flux_v: float, step_a: float, h: float) -> None:
        """Nothing moves: how calm the coil is, and how long the next step may be."""
        slope = step_a / h
        calm = self._settled and flux_v < STILL_V
        self.quiet = calm and slope < QUIET_A_PER_S
        self.still = calm and slope < STILL_A_PER_S and (abs(self.i) < 1e-3 or self._to_warm_k() < WARM_K)
        growth = PACE_GROWTH if step_a < PACE_A else 1 / PACE_GROWTH
        self.pace = min(max(self.pace * growth, PACE_S), PACE_QUIET_S if self.quiet else PACE_MOST_S)

    # --- in motion: coil, armature and leaf ---

    def _move(self, until: float, h: float, changes: list[tuple[float, int, bool]]) -> None:
        """Steps of `h` until `until` would be passed or everything is at rest."""
        mech, gain, step, ohm = self.mechanics, self.magnetics.pull_gain, self.magnetics.step, self.ohm
        travel, nc_at, no_at, restitution = mech.travel, mech.nc_at, mech.no_at, mech.restitution
        k_leaf, c_leaf, k_fixed, c_fixed = mech.k_leaf, mech.c_leaf, mech.k_fixed, self.damping
        k_return, f_return, friction = mech.k_return, mech.f_return, self.friction
        per_mass, per_contact = mech.per_mass, mech.per_contact
        weld_no, weld_nc = self.weld
        no, nc = self.touching
        t, phi, i, s, v, z, w = self.t, self.phi, self.i, self.s, self.v, self.z, self.w
        last = until + NOW_S - h
        while t <= last:
            if not self._settled:
                self.i = i
                self._rebuild(t + 0.5 * h)
            # forces, and speeds half a step on (leapfrog; out of rest, half a step of force)
            leaf = k_leaf * (s - z) + c_leaf * (v - w)
            f_no = f_nc = 0.0
            if z > no_at or weld_no:
                d = z - no_at
                f_no = k_fixed * (d + c_fixed * abs(d) * w)
                if f_no < 0 and f_no < -weld_no:
                    f_no = weld_no = 0.0
            if z < nc_at or weld_nc:
                d = nc_at - z
                f_nc = k_fixed * (d - c_fixed * abs(d) * w)
                if f_nc < 0 and f_nc < -weld_nc:
                    f_nc = weld_nc = 0.0
            net = gain * phi * abs(phi) - f_return - k_return * s - leaf
            # armature: friction against its speed, or holding it; stops with restitution
            if v > 0 or (v == 0 and net > friction):
                force = net - friction
            elif v < 0 or net < -friction:
                force = net + friction
            else:
                force = 0.0
            if v == 0 and ((s >= travel and force > 0) or (s <= 0 and force < 0)):
                force = 0.0
            faster = v + force * per_mass * (h if v else 0.5 * h)
            v = 0.0 if v * faster < 0 else faster
            before = s
            s += v * h
            if s >= travel and v > 0:
                s, v = travel, (-restitution * v if v * restitution > REBOUND_M_PER_S else 0.0)
            elif s <= 0 and v < 0:
                s, v = 0.0, (-restitution * v if -v * restitution > REBOUND_M_PER_S else 0.0)
            # moving contact
            w += (leaf - f_no + f_nc) * per_contact * h
            was, z = z, z + w * h
            if (z > no_at or weld_no > 0) != no:
                no = not no
                changes.append((t + h * _part(was, z, no_at), NO, no))
            if (z < nc_at or weld_nc > 0) != nc:
                nc = not nc
                changes.append((t + h * _part(was, z, nc_at), NC, nc))
            # coil, at the middle of the way that the armature went
            u0, source, low, high = self._segment
            was_phi, was_i = phi, i
            phi, i = step(phi, i, travel - 0.5 * (before + s), h, u0, ohm + source)
            if not low <= i <= high:
                phi, i = self._across(was_phi, was_i, travel - 0.5 * (before + s), h, i)
            t += h
            if v == 0 and force == 0:
                place = mech.place_of_rest(s, weld_no, weld_nc)
                if mech.quiet(z, w, place):
                    z, w = place, 0.0
                    self.moving, self.pace = False, PACE_S
                    break
        if t > self.t:
            self.force, self.touching = (max(f_no, 0.0), max(f_nc, 0.0)), (no, nc)
        self._heat(t - self.t)
        self.t, self.phi, self.i, self.s, self.v, self.z, self.w = t, phi, i, s, v, z, w
        self.weld = (weld_no, weld_nc)
        if not self.moving:
            self.force = mech.forces_at_rest(z)
            if s <= 0 or s >= travel:  # a rest on the way is still the same move
                self._draw_next_move()
            self._pull_down, self._pull_up = mech.holds_between(s, z, self.friction)

    def _draw_next_move(self) -> None:
        """The hinge's friction and the contacts' loss in the next move."""
        if self._chance is not None:
            chance = Chance(self._chance)
            mech = self.mechanics
            self.friction = mech.friction * math.exp(mech.scatter * chance.normal())
            self.damping = mech.c_fixed * math.exp(mech.damping_scatter * chance.normal())
            self._chance = chance.state


def _part(was: float, now: float, mark: float) -> float:
    """How much of a step had passed when the mark was crossed."""
    return min(max((mark - was) / (now - was), 0.0), 1.0) if now != was else 1.0
