"""How one moment of a relay leads to the next, in four ways by what of it moves; body.py says what a moment holds.

Rule 1: a step is as long as what moves allows. A step that turns out too long for its way is not taken: the body stays
as it was, and enters the way, or has the pace, in which it is tried again.
Rule 2: how a step goes depends on the body and on nothing else, so that it goes the same way after a snapshot.
"""

import math

from pulldrop.plant.relay.armature import Change, Mechanics
from pulldrop.plant.relay.body import FIRST_S, Body
from pulldrop.plant.relay.suppression import SETTLE_S

PACE_CHANGE, PACE_MOST_S, PACE_LEAVING_S = (0.5, 2.0), 20e-3, 50e-6
"""Step at rest: least and most change from step to step, longest, longest in which the armature may leave."""
PACE_SUPPLY_S = SETTLE_S / 3
"""First step at rest after a change of the coil supply alone, which is slower than the coil's leakage."""
BEND_A, BEND_SHARE = 0.2e-3, 2e-3
"""By how much current, and flux as a share of the saturated one, may bend off their last line in a step at rest."""
STILL_V, STILL_A_PER_S = 1e-4, 1e-4
"""Volts of flux change, and slope of current, below which the coil counts as still."""
PACE_A = 3e-3
"""A step of a creeping armature may not change the current by more."""
QUIET_A_PER_S, PACE_QUIET_S, WARM_K = 1e-3, 50e-3, 1e-3
"""Slope of current below which only warmth changes it, longest step then (10 uA), and rise below which that ends."""
REBOUND_M_PER_S = 0.01
"""Armature speed below which a stop takes it without rebound."""
CREEP_M_PER_S, CREEP_M_PER_S2 = 0.05, 50.0
"""Up to this speed and acceleration the leaf is taken to follow the armature at once. A free moving contact of 0.3 g
then lags by 3 um; against `move` alone, times differ by 1 us (tests/published/physics/test_physics_motion.py)."""
AGAIN_M_PER_S, AGAIN_M_PER_S2 = 0.5 * CREEP_M_PER_S, 0.5 * CREEP_M_PER_S2
"""To these an armature that was faster must come down."""
NOW_S = 1e-10
"""Two moments closer than this are the same."""


def step(body: Body, until: float, h: float, changes: list[Change]) -> None:
    """One step of `h` at rest; in motion as many as fit before `until`. What begins or ends to touch is added."""
    if body.mode == "rest":
        rest(body, until, h)
    elif body.mode == "creep":
        creep(body, until, h)
    elif body.mode == "swing":
        swing(body, until, h, changes)
    else:
        move(body, until, h, changes)


def rest(body: Body, until: float, h: float) -> None:
    """Nothing moves: steps of the coil, the first of `h`, until `until`, a stir, or one that is too long."""
    magnetics, gap, last = body.magnetics, body.mechanics.travel - body.s, until + NOW_S
    step, gain, turns, trace = magnetics.step, magnetics.pull_gain, magnetics.turns, body.trace
    while body.t + h <= last and not body.still:
        if not body.settled:
            h = min(h, 2 * SETTLE_S)
            body.rebuild(body.t, h)
        u0, source, low, high = body.segment
        phi, i = step(body.phi, body.i, gap, h, u0, body.ohm + source)
        if not low <= i <= high:
            body.pace = FIRST_S["rest"]
            if h > body.pace * 1.001:
                return
            phi, i = body.across(body.phi, body.i, gap, h, i)
        if not body.pull_down <= gain * phi * phi <= body.pull_up:
            _leave(body, phi, gap, h)
            return
        _calm(body, (phi - body.phi) * turns / h, (i - body.i) / h, h)
        body.phi, body.i = phi, i
        body.t += h
        body.heat(h)
        h = body.pace
        if trace is not None:
            trace.append((body.t, i))


def _leave(body: Body, to_phi: float, gap: float, h: float) -> None:
    """The armature leaves in a step of `h`: to the moment at which the pull moves it, if the step is short enough."""
    if h > PACE_LEAVING_S * 1.001:
        body.pace = PACE_LEAVING_S
        return
    gain, (u0, source, _, _) = body.magnetics.pull_gain, body.segment
    rises = gain * to_phi * to_phi > body.pull_up
    edge = body.pull_up if rises else body.pull_down
    at = math.copysign(math.sqrt(max(edge, 0.0) / gain), to_phi)
    part = (at - body.phi) / (to_phi - body.phi) if to_phi != body.phi else 0.0
    h *= min(max(part, 0.0), 1.0)
    if h > 0:
        body.phi, body.i = body.magnetics.step(body.phi, body.i, gap, h, u0, body.ohm + source)
    body.t += h
    body.heat(h)
    body.enter("creep" if body.settled and body.weld == (0.0, 0.0) else "move")


def _calm(body: Body, flux_v: float, slope: float, h: float) -> None:
    """Nothing moves: how calm the coil is by its slopes in a step, and how long the next step may be."""
    bend_a, bend_vs = abs(slope - body.slope) * h, abs(flux_v - body.flux_v) * h
    body.slope, body.flux_v = slope, flux_v
    body.quiet = body.settled and body.loose_at == math.inf and abs(flux_v) < STILL_V and abs(slope) < QUIET_A_PER_S
    body.still = body.quiet and abs(slope) < STILL_A_PER_S and (abs(body.i) < 1e-3 or body.to_warm_k() < WARM_K)
    least, most = PACE_CHANGE
    share, share_vs = bend_a / BEND_A, bend_vs / (BEND_SHARE * body.magnetics.saturated_vs)
    if share_vs > share:
        share = share_vs
    change = most if share * most * most < 1 else max(share**-0.5, least)
    pace, first, longest = body.pace * change, FIRST_S["rest"], PACE_QUIET_S if body.quiet else PACE_MOST_S
    body.pace = first if pace < first else pace if pace < longest else longest


def creep(body: Body, until: float, h: float) -> None:
    """The armature moves slowly and the leaf follows: steps of `h` until `until`, a rest, or one that is too long."""
    mech, gain, friction, ohm = body.mechanics, body.magnetics.pull_gain, body.friction, body.ohm
    u0, source, low, high = body.segment
    t, phi, i, s, v = body.t, body.phi, body.i, body.s, body.v
    rests, last, per_mass, trace = False, until + NOW_S - h, mech.per_mass_followed(s), body.trace
    while t <= last:
        force = mech.force_followed(gain * phi * phi, s, v, friction)
        if v == 0 and force == 0:
            rests = True
            break
        # half a step's force, the step, and the other half at its end (Verlet)
        to_v = _unless_turned(v, v + 0.5 * h * force * per_mass)
        to_s = min(max(s + to_v * h, 0.0), mech.travel)
        to_phi, to_i = body.magnetics.step(phi, i, mech.travel - 0.5 * (s + to_s), h, u0, ohm + source)
        force = mech.force_followed(gain * to_phi * to_phi, to_s, to_v, friction)
        to_v = _unless_turned(to_v, to_v + 0.5 * h * force * per_mass)
        slow = abs(to_v) < CREEP_M_PER_S and abs(force) * per_mass < CREEP_M_PER_S2
        if not (slow and low <= to_i <= high and abs(to_i - i) < PACE_A and mech.same_reach(s, to_s)):
            body.enter("move")
            break
        t, phi, i, s, v = t + h, to_phi, to_i, to_s, to_v
        if trace is not None:
            trace.append((t, i))
    if t == body.t and not rests:
        return
    body.heat(t - body.t)
    body.t, body.phi, body.i, body.s, body.v = t, phi, i, s, v
    body.z, body.w = mech.place_of_rest(s, 0.0, 0.0), v * mech.share_followed(s)
    body.force = mech.forces_at_rest(body.z)
    if rests:
        body.come_to_rest()


def swing(body: Body, until: float, h: float, changes: list[Change]) -> None:
    """The armature rests and the leaf swings: steps of `h` until `until`, or the leaf is quiet, or the armature stirs.

    The coil takes each step at once, the leaf in parts as short as those of `move`.
    """
    mech, damping, friction, ohm, s = body.mechanics, body.damping, body.friction, body.ohm, body.s
    k_leaf, c_leaf, fixed_forces, per_contact = mech.k_leaf, mech.c_leaf, mech.fixed_forces, mech.per_contact
    no_at, nc_at, gap, (weld_no, weld_nc) = mech.no_at, mech.nc_at, mech.travel - s, body.weld
    place = mech.place_of_rest(s, weld_no, weld_nc)
    room_m, room_m_per_s = mech.quiet_within(place)
    u0, source, low, high = body.segment
    t, last, most_s, trace = body.t, until + NOW_S - h, FIRST_S["move"], body.trace
    while t <= last:
        if abs(body.z - place) < room_m and abs(body.w) < room_m_per_s:
            body.z, body.w = place, 0.0
            body.come_to_rest()
            break
        phi, i = body.magnetics.step(body.phi, body.i, gap, h, u0, ohm + source)
        z, w, touching, news = body.z, body.w, body.touching, list[Change]()
        pushed = body.magnetics.pull_gain * phi * phi - mech.f_return - mech.k_return * s
        held_from = pushed - friction if s < mech.travel else -math.inf
        held_to = pushed + friction if s > 0 else math.inf
        stirs = not low <= i <= high
        at, end = t, t + h - NOW_S
        while at < end:
            part_s = t + h - at
            if part_s > most_s:
                part_s = most_s
            leaf = k_leaf * (s - z) - c_leaf * w
            f_no, f_nc = fixed_forces(z, w, damping, weld_no, weld_nc)
            if f_no < -weld_no:
                f_no = weld_no = 0.0
            if f_nc < -weld_nc:
                f_nc = weld_nc = 0.0
            if not held_from <= leaf <= held_to:
                stirs = True
            w += (leaf - f_no + f_nc) * per_contact * part_s
            was, z = z, z + w * part_s
            now = (z > no_at or weld_no > 0, z < nc_at or weld_nc > 0)
            if now != touching:
                news += mech.crossed(touching, now, was, z, at, part_s)
                touching = now
            at += part_s
        if stirs or (weld_no, weld_nc) != body.weld:
            body.enter("move")
            break
        t += h
        body.phi, body.i, body.z, body.w, body.touching, body.force = phi, i, z, w, touching, (f_no, f_nc)
        changes += news
        if trace is not None:
            trace.append((t, i))
    body.heat(t - body.t)
    body.t = t


def move(body: Body, until: float, h: float, changes: list[Change]) -> None:
    """Everything moves: steps of `h` until `until`, or until longer ones will do."""
    mech, gain, step, ohm = body.mechanics, body.magnetics.pull_gain, body.magnetics.step, body.ohm
    travel, no_at, nc_at, f_return, k_return = mech.travel, mech.no_at, mech.nc_at, mech.f_return, mech.k_return
    k_leaf, c_leaf, fixed_forces, force_on = mech.k_leaf, mech.c_leaf, mech.fixed_forces, mech.force_on
    per_mass, per_contact, f_no, f_nc = mech.per_mass, mech.per_contact, 0.0, 0.0
    damping, friction, touching, (weld_no, weld_nc) = body.damping, body.friction, body.touching, body.weld
    t, phi, i, s, v, z, w = body.t, body.phi, body.i, body.s, body.v, body.z, body.w
    last, settled, (u0, source, low, high), trace = until + NOW_S - h, body.settled, body.segment, body.trace
    while t <= last:
        if not settled:
            body.i = i
            body.rebuild(t, h)
            settled, (u0, source, low, high) = body.settled, body.segment
        # forces, and speeds half a step on (leapfrog; out of rest, half a step of force)
        leaf = k_leaf * (s - z) + c_leaf * (v - w)
        if nc_at <= z <= no_at and not (weld_no or weld_nc):
            f_no = f_nc = 0.0
        else:
            f_no, f_nc = fixed_forces(z, w, damping, weld_no, weld_nc)
            if f_no < -weld_no:
                f_no = weld_no = 0.0
            if f_nc < -weld_nc:
                f_nc = weld_nc = 0.0
        force = force_on(gain * phi * phi - f_return - k_return * s - leaf, s, v, friction)
        # armature: stops with restitution
        before = s
        faster = v + force * per_mass * (h if v else 0.5 * h)
        v = 0.0 if v * faster < 0 else faster  # friction lets it stop before it turns back
        s += v * h
        if s >= travel or s <= 0:
            s, v = _stopped(s, v, mech)
        # moving contact
        w += (leaf - f_no + f_nc) * per_contact * h
        was, z = z, z + w * h
        now = (z > no_at or weld_no > 0, z < nc_at or weld_nc > 0)
        if now != touching:
            changes += mech.crossed(touching, now, was, z, t, h)
            touching = now
        # coil, at the middle of the way that the armature went
        gap = travel - 0.5 * (before + s)
        to_phi, to_i = step(phi, i, gap, h, u0, ohm + source)
        if not low <= to_i <= high:
            to_phi, to_i = body.across(phi, i, gap, h, to_i)
            u0, source, low, high = body.segment
        phi, i, t = to_phi, to_i, t + h
        if trace is not None:
            trace.append((t, i))
        if v == 0 and force == 0 and settled:
            body.enter("swing")
            break
        if (
            -AGAIN_M_PER_S < v < AGAIN_M_PER_S and -AGAIN_M_PER_S2 < force * per_mass < AGAIN_M_PER_S2
            and settled and not (weld_no or weld_nc) and mech.follows(s, v, z, w, FIRST_S["creep"])
        ):  # fmt: skip
            body.enter("creep")
            break
    if t > body.t:
        body.force, body.touching = (max(f_no, 0.0), max(f_nc, 0.0)), touching
    body.heat(t - body.t)
    body.t, body.phi, body.i, body.s, body.v, body.z, body.w = t, phi, i, s, v, z, w
    body.weld = (weld_no, weld_nc)


def _stopped(s: float, v: float, mech: Mechanics) -> tuple[float, float]:
    """Place and speed of an armature at one of its stops, which throw it back if it comes fast enough."""
    if (s >= mech.travel and v > 0) or (s <= 0 and v < 0):
        back = mech.restitution * abs(v) if mech.restitution * abs(v) > REBOUND_M_PER_S else 0.0
        return (mech.travel, -back) if v > 0 else (0.0, back)
    return s, v


def _unless_turned(before: float, after: float) -> float:
    """A speed after a step, of something that friction lets stop before it turns back."""
    return 0.0 if before * after < 0 else after
