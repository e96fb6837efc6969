"""The state of each leg behind a socket, by its drop at the current that it works with.

A drop is good, worth cleaning or broken only where that is at least 98 % sure (JCGM 106:2012); else it is unsure.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pulldrop.judge.decide import RISK, conformance
from pulldrop.judge.socket.roles import Roles
from pulldrop.model.coverage import Spread
from pulldrop.model.quantity import show
from pulldrop.model.vehicle.socket import Cavity, Leg, LegState, Look, Seen, State, Value


@dataclass(frozen=True)
class DropLimits:
    """Volts at the leg's own current: above `clean` it is worth cleaning, above `dead` the circuit is dead or weak.

    For 24 V twice as much. `source`: where they come from.
    """

    clean: float
    dead: float
    source: str


FEED = DropLimits(0.5, 1.0, "one connector 0.5 V, whole circuit 1 V (workshop manuals of four makers)")
TRIGGER = DropLimits(0.5, 1.0, "the same, at the coil's current")
GROUND = DropLimits(0.1, 1.0, "ground 0.1 V (common practice); whole circuit 1 V (workshop manuals)")
RISES_V = 0.3
"""A ground that another circuit lifts by so much shares its way, or ends in that circuit's lamp (assumed: three times
what a sound joint of 10 mohm drops at 10 A)."""
LIVE_A = 0.1
"""Least current that counts as a load; a tell-tale takes less."""
SHORT_OHM = 0.15
"""A load of less, at 12 V, is a short: four lamps of 60 W have 0.6 ohm hot."""
LAMP_POWER = 0.55
"""Amps of a filament go with volts to this power (Fink and Beaty's handbook, as quoted elsewhere)."""
HALVINGS = 30
LAMP_U = 0.045
"""Standard uncertainty of a filament's amps, relative: makers' tolerances of 6 to 10 % in watts, either way."""
COIL_U = 0.02
"""Standard uncertainty of the coil's ohms, relative: its warmth, 5 K, or a rating."""
WEAK_SHARE = 0.7
"""A load that gets less of the volts at the socket has a joint in its way that keeps it dim."""


def feed(seen: Mapping[Look, Seen], found: Roles, watts: float | None, rated_v: float) -> LegState:
    """By the drop with the load joined, or with 5 A where nothing takes more; with the `watts` of the load also by what
    they would take through the feed's ohms, because a load with a fault of its own asks little of its feed."""
    at = found.feed
    heavy, light = (seen.get(Look(cavity=at, hang=hang, worked=True)) for hang in ("5 A down", "1 A down"))
    bare = seen[Look(cavity=at, hang="1 kohm down", worked=True)]
    if bare.volts.value < 0.5 * bare.battery.value:
        return _state("feed", at, "broken", None, f"{_volts(bare)} under 1 kohm, the battery has {_battery(bare)}")
    if heavy is None or light is None:
        return _state("feed", at, "not looked at", None, "no heavier load was hung on it")
    ohm = _source_ohm(light, heavy)
    joined = seen.get(Look(cavity=at, hang="joined", worked=True))
    working = joined if joined and joined.amps.value > LIVE_A else heavy
    drop, amps = _less(working.battery, working.volts), working.amps.value
    if heavy.volts.value < 0.5 * heavy.battery.value:  # a load behind such a feed gets no current that tells anything
        drop, amps = _less(heavy.battery, heavy.volts), heavy.amps.value
    elif watts is not None and ohm is not None:
        rated = _taken(watts, rated_v, working.battery.value, ohm.value)
        if ohm.value * rated > drop.value:
            drop, amps = Value(value=ohm.value * rated, u=ohm.u * rated), rated
    return judged("feed", at, drop, FEED, show(amps, "A"), working.battery.value, ohm)


def _taken(watts: float, rated_v: float, battery_v: float, ohm: float) -> float:
    """Amps that filaments of these watts take through `ohm`."""
    least, most, amps = 0.0, battery_v, 0.0
    for _ in range(HALVINGS):  # of the volts that the lamps get
        volts = (least + most) / 2
        amps = watts / rated_v * (volts / rated_v) ** LAMP_POWER
        least, most = (volts, most) if volts + ohm * amps < battery_v else (least, volts)
    return amps


def trigger(seen: Mapping[Look, Seen], found: Roles, coil_ohm: float) -> LegState:
    """By the drop at the coil's current with the control worked."""
    at = found.trigger
    if found.trigger_stuck:
        one = seen[Look(cavity=at, hang="coil down", worked=False)]
        return _state("trigger", at, "broken", None, f"{_volts(one)} with the control at rest: it is on all the time")
    return _coil_end("trigger", at, seen, not found.low_side, TRIGGER, coil_ohm)


def ground(seen: Mapping[Look, Seen], found: Roles, coil_ohm: float, lit: Sequence[str]) -> LegState:
    """By its drop at the coil's current, and again with every circuit of `lit` on; else lamps are not excluded."""
    at = found.ground
    state = _coil_end("ground", at, seen, found.low_side, GROUND, coil_ohm)
    if found.low_side or state.state == "broken":
        return state
    plain = seen[Look(cavity=at, hang="coil up", worked=True)]
    for name in lit:
        one = seen.get(Look(cavity=at, hang="coil up", worked=True, lit=name))
        if one is None:
            return state.model_copy(update={"lamps": True})
        rise = Value(value=one.volts.value - plain.volts.value, u=math.hypot(one.volts.u, plain.volts.u))
        if rise.value - 2 * rise.u > RISES_V:
            lifted = _coil_end("ground", at, seen, False, GROUND, coil_ohm, lit=name)
            shared = f"{show(rise.value, 'V', 2 * rise.u)} of it only while {name} is on, whose current shares its way"
            state = lifted.model_copy(update={"why": f"{lifted.why}; {shared}"})
    return state.model_copy(update={"lamps": not lit})


def load(seen: Mapping[Look, Seen], found: Roles, watts: float | None, rated_v: float, feed_good: bool) -> LegState:
    """Open, short or live; with the `watts` of its filaments also by what stands in their way."""
    at = found.load
    taken = seen[Look(cavity=at, hang="1 A up", worked=True)]
    joined = seen.get(Look(cavity=found.feed, hang="joined", worked=True)) if feed_good else None
    if taken.amps.value + 2 * taken.amps.u < LIVE_A:
        return _state(
            "load", at, "broken", None, f"it takes {show(taken.amps.value, 'A')} through the 1 A load from plus: open"
        )
    if joined is None:
        return _state("load", at, "not looked at", None, "it conducts; its current needs a good feed")
    ohm = joined.volts.value / joined.amps.value if joined.amps.value > 0 else math.inf
    if ohm < SHORT_OHM * rated_v / 12:
        return _state("load", at, "broken", None, f"{ohm:.2f} ohm with the feed on it: a short")
    if joined.amps.value + 2 * joined.amps.u < LIVE_A:
        return _state("load", at, "broken", None, f"it takes {show(joined.amps.value, 'A')}: open")
    says = f"it takes {show(joined.amps.value, 'A')} at {_volts(joined)}"
    if watts is None:
        return _state("load", at, "good", None, f"{says}; its watts were not given")
    got = (joined.amps.value * rated_v / watts) ** (1 / LAMP_POWER) * rated_v / joined.volts.value
    u = got * LAMP_U / LAMP_POWER
    least = conformance(got, Spread(u), WEAK_SHARE, None)
    what = f"{says}: its lamps get about {100 * min(got, 1):.0f} % of that"
    if least <= RISK:
        return _state("load", at, "broken", None, what)
    return _state("load", at, "good" if least >= 1 - RISK else "unsure", None, what)


def _coil_end(
    leg: Leg,
    at: Cavity,
    seen: Mapping[Look, Seen],
    fed: bool,
    limits: DropLimits,
    coil_ohm: float,
    lit: str = "",
) -> LegState:
    """An end of the coil: towards minus where it should feed, else from plus. The dummy coil shows what stands in the
    way; the drop is that of a relay with a coil of `coil_ohm`."""
    heavy = seen[Look(cavity=at, hang="coil down" if fed else "coil up", worked=True, lit=lit)]
    light = seen[Look(cavity=at, hang="1 kohm down" if fed else "1 kohm up", worked=True)]
    drop = _less(heavy.battery, heavy.volts) if fed else heavy.volts
    amps = max(heavy.amps.value, 1e-6)
    way = max(drop.value, 0.0) / amps
    whole = heavy.battery.value / (way + coil_ohm)
    scale = whole / amps if way < coil_ohm * 100 else 1.0
    scaled = Value(value=drop.value * scale, u=math.hypot(drop.u, COIL_U * drop.value) * scale)
    at_amps = show(amps * scale, "A")
    return judged(leg, at, scaled, limits, at_amps, heavy.battery.value, _source_ohm(light, heavy))


def judged(
    leg: Leg, at: Cavity, drop: Value, limits: DropLimits, current: str, battery_v: float, ohm: Value | None = None
) -> LegState:
    """By a drop at a current that `current` names."""
    scale = 2.0 if battery_v > 18 else 1.0
    spread = Spread(drop.u)
    clean = conformance(drop.value, spread, None, limits.clean * scale)
    alive = conformance(drop.value, spread, None, limits.dead * scale)
    state: State = "unsure"
    if alive <= RISK:
        state = "broken"
    elif clean >= 1 - RISK:
        state = "good"
    elif alive >= 1 - RISK:
        state = "worth cleaning"
    why = (
        f"it loses {show(drop.value, 'V', 2 * drop.u)} at {current}; worth cleaning above"
        f" {limits.clean * scale:g} V, dead above {limits.dead * scale:g} V: {limits.source}"
    )
    return _state(leg, at, state, ohm, why)


def _source_ohm(light: Seen, heavy: Seen) -> Value | None:
    """Ohms behind a cavity by two loads, the battery's own change taken off; none where both take the same.

    What the looks have in common cancels in the volts and stays, as a share, in the amps.
    """
    amps = heavy.amps.value - light.amps.value
    if amps <= 0:
        return None
    fed = light.look.hang.endswith("down")
    sag = light.battery.value - heavy.battery.value if fed else 0.0
    volts = abs(light.volts.value - heavy.volts.value) - sag
    batteries = (light.battery.scatter, heavy.battery.scatter) if fed else ()
    of_volts = math.hypot(light.volts.scatter, heavy.volts.scatter, *batteries) / amps
    return Value(
        value=volts / amps, u=math.hypot(of_volts, volts / amps * math.hypot(light.amps.u, heavy.amps.u) / amps)
    )


def _less(a: Value, b: Value) -> Value:
    return Value(value=a.value - b.value, u=math.hypot(a.u, b.u))


def _state(leg: Leg, at: Cavity, state: State, ohm: Value | None, why: str) -> LegState:
    return LegState(leg=leg, cavity=at, state=state, ohm=ohm, why=why)


def _volts(seen: Seen) -> str:
    return show(seen.volts.value, "V", 2 * seen.volts.u)


def _battery(seen: Seen) -> str:
    return show(seen.battery.value, "V")
