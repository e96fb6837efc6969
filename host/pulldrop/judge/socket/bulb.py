"""The legs behind a socket by the vehicle lead: feed and load under a bulb, trigger and ground at the relay's own coil.

Rule: alive, weak or dead, and no more than that was loaded: a leg that is alive under a bulb may fail under a starter.
"""

from dataclasses import dataclass

from pulldrop.judge.socket.legs import FEED, GROUND, RISES_V, TRIGGER, DropLimits, judged
from pulldrop.judge.socket.roles import Roles
from pulldrop.judge.socket.table import verdict
from pulldrop.model.quantity import show
from pulldrop.model.vehicle.lead import CLIPS, Clip, LeadLooks, LeadSeen
from pulldrop.model.vehicle.socket import Cavity, Leg, LegState, SocketFound, State, Value

HALF, STANDS, FLOWS = 0.5, 0.25, 0.1
"""Shares of the battery: below half a leg is dead rather than weak; from a quarter on a cavity is joined to plus; from
a tenth across the coil on its current flows."""
LIVE_V = 0.2
"""Volts across the bulb, at 12 V, from which it carries 0.1 A: a cold 5 W bulb has 2 ohm."""
BULB_A = {6: 0.83, 12: 0.42, 24: 0.21}
"""Of 5 W."""
GROUND_MOST_V = 1.0
"""X5 reads no more."""
COIL_OHM = {6: 25.0, 12: 90.0, 24: 325.0}
"""About, of a relay of the system: 60 to 120 at 12 V, 250 to 400 at 24 V (makers' sheets)."""


@dataclass(frozen=True)
class Ends:
    """Volts of 85 and 86 as shares of the battery."""

    at_85: float
    at_86: float

    def of(self, cavity: Cavity) -> float:
        """Of one of them."""
        return self.at_85 if cavity == "85" else self.at_86

    @property
    def across(self) -> float:
        """Between them."""
        return abs(self.at_85 - self.at_86)


def ends(seen: LeadSeen) -> Ends:
    """Of a look with X3 on 85 and X4 on 86."""
    return Ends(seen.shares[1].value, seen.shares[2].value)


def coil_roles(open_rest: LeadSeen, open_worked: LeadSeen, coil_rest: LeadSeen) -> tuple[Cavity, bool, bool, bool]:
    """The trigger's cavity; whether it switches ground; whether that is sure; whether it drives at rest already.

    Where the trigger switches ground, the coil's feed holds both ends up at rest. An end that stands at plus alone, and
    falls under the coil at rest, is a trigger with a module's trickle.
    """
    rest, worked, coil = ends(open_rest), ends(open_worked), ends(coil_rest)
    rises = {one: worked.of(one) - rest.of(one) for one in ("85", "86")}
    most: Cavity = "85" if rises["85"] > rises["86"] else "86"
    if rises[most] >= STANDS:
        return most, False, True, False
    fed: Cavity = "85" if worked.at_85 > worked.at_86 else "86"
    if worked.of(fed) < STANDS:
        return "86", False, False, False
    if max(coil.at_85, coil.at_86) < STANDS:
        return fed, False, True, False
    if coil.across >= FLOWS:
        return fed, False, False, True
    return ("86" if fed == "85" else "85"), True, True, False


def decide_lead(looks: LeadLooks, system_v: int) -> SocketFound:
    """The four legs, their words, and the first to mend."""
    trigger, low_side, sure, stuck = coil_roles(looks.open_rest, looks.open_worked, looks.coil_rest)
    ground: Cavity = "86" if trigger == "85" else "85"
    load: Cavity = "87" if looks.fed == "30" else "30"
    found = Roles(looks.fed, load, trigger, ground, low_side=low_side, sure=sure, trigger_stuck=stuck)
    states = (
        _feed(looks, system_v),
        _ground(ground, looks, low_side, system_v),
        _stuck(trigger, looks) if stuck else _end("trigger", trigger, looks, not low_side, TRIGGER, system_v),
        _load(looks, load, system_v),
    )
    return verdict(tuple(_worded(*one) for one in states), found)


Judged = tuple[LegState, float]
"""A leg, and the share of the battery that it holds, 1 for none that counts."""


def _worded(state: LegState, holds: float) -> LegState:
    if state.word:
        return state
    words: dict[State, str] = {"good": "alive", "worth cleaning": "alive", "unsure": "unsure"}
    word = words.get(state.state) or ("dead" if holds < HALF else "weak")
    word = "not looked at" if state.state == "not looked at" else word
    return state.model_copy(update={"word": word})


def _feed(looks: LeadLooks, system_v: int) -> Judged:
    """Under the bulb; and where the relay pulled, at its load's own current, whichever is worse."""
    at, seen = looks.fed, looks.bulb
    holds, battery = seen.shares[0].value, seen.battery.value
    volts = show(seen.volts("X2").value, "V", 2 * seen.volts("X2").u)
    if looks.bulb_glow == "dark" and holds > HALF:
        why = f"{volts} and a dark bulb: it is blown, or does not bite; try it across the battery"
        return _state("feed", at, "unsure", why), holds
    under = f"{show(BULB_A[system_v], 'A')}, under a bulb"
    if holds < HALF:
        return _state("feed", at, "broken", f"{volts} at {under}; the battery has {show(battery, 'V')}"), holds
    state = judged("feed", at, seen.below("X2"), FEED, under, battery)
    coil = looks.coil_worked
    if ends(coil).across > FLOWS and state.state != "broken":
        working = judged("feed", at, coil.below("X2"), FEED, "its load's own current", coil.battery.value)
        if _worse(working.state, state.state):
            return working, coil.shares[0].value
    return state, holds


def _load(looks: LeadLooks, at: Cavity, system_v: int) -> Judged:
    """The bulb in its way: dark where nothing takes its current."""
    seen = looks.series
    if seen is None or seen.shares[0].value < HALF:
        return _state("load", at, "not looked at", "its current needs a feed that is alive"), 1.0
    across = Value(
        value=seen.volts("X2").value - seen.volts("X3").value,
        u=seen.battery.value * (seen.shares[0].u ** 2 + seen.shares[1].u ** 2) ** 0.5,
    )
    live = LIVE_V * system_v / 12
    told = show(across.value, "V", 2 * across.u)
    if across.value + 2 * across.u < live:
        return _state("load", at, "broken", f"{told} across the bulb before it, {live:g} V would be 0.1 A: open"), 0.0
    if across.value - 2 * across.u < live:
        return _state("load", at, "unsure", f"{told} across the bulb before it: about 0.1 A, or none"), 1.0
    why = f"{told} across the bulb before it: it takes current. A short, or how bright it gets, does not show here"
    return _state("load", at, "good", why), 1.0


def _end(leg: Leg, at: Cavity, looks: LeadLooks, high: bool, limits: DropLimits, system_v: int) -> Judged:
    """An end of the coil with the relay in and the control worked: `high`, it gives plus; else it takes it to minus."""
    seen, now = looks.coil_worked, ends(looks.coil_worked)
    clip: Clip = "X3" if at == "85" else "X4"
    if now.across < FLOWS:
        return _without_current(leg, at, looks, high, show(seen.volts(clip).value, "V", 2 * seen.volts(clip).u))
    battery = seen.battery.value
    amps = f"about {show(now.across * battery / COIL_OHM[system_v], 'A')}, the coil's own"
    if high:
        return judged(leg, at, seen.below(clip), limits, amps, battery), now.of(at)
    plain, exact = seen.volts(clip), seen.ground if looks.grounded == at else None
    finer = exact is not None and exact.value < GROUND_MOST_V and exact.u < plain.u
    return judged(leg, at, exact if exact and finer else plain, limits, amps, battery), 1 - now.of(at)


def _ground(at: Cavity, looks: LeadLooks, low_side: bool, system_v: int) -> Judged:
    """The coil's ground; another circuit that lifts it shares its way, or ends in that circuit's lamp."""
    judged_alone = _end("ground", at, looks, low_side, GROUND, system_v)
    if low_side or judged_alone[0].state == "broken":
        return judged_alone
    clip: Clip = "X3" if at == "85" else "X4"
    plain = looks.coil_worked.volts(clip)
    for name, seen in looks.lit.items():
        now = seen.volts(clip)
        if now.value - plain.value - 2 * (now.scatter + plain.scatter) > RISES_V * system_v / 12:
            lifted = judged("ground", at, now, GROUND, f"its own current while {name} is on", seen.battery.value)
            return lifted, 1 - seen.shares[CLIPS.index(clip)].value
    alone = judged_alone[0].model_copy(update={"lamps": not looks.lit})
    return alone, judged_alone[1]


def _without_current(leg: Leg, at: Cavity, looks: LeadLooks, high: bool, volts: str) -> Judged:
    """The same where no current flows through the coil: the end that is missing."""
    now = ends(looks.coil_worked)
    alone = ends(looks.open_worked).of(at)
    if high and now.of(at) < STANDS:
        trickle = f", {100 * alone:.0f} % of the battery without it: a trickle" if alone >= STANDS else ""
        return _state(leg, at, "broken", f"{volts} with the coil on it and the control worked{trickle}"), now.of(at)
    if high:
        return _state(leg, at, "unsure", "it has volts, but no current flows: the coil's other end"), 1.0
    if max(now.at_85, now.at_86) < STANDS:
        return _state(leg, at, "not looked at", "nothing feeds the coil's other end"), 1.0
    return _state(leg, at, "broken", f"{volts} with the coil on it: no way to minus"), 0.0


def _stuck(at: Cavity, looks: LeadLooks) -> Judged:
    share = ends(looks.coil_rest).of(at)
    why = f"{100 * share:.0f} % of the battery with the control at rest: it is on all the time"
    return _state("trigger", at, "broken", why).model_copy(update={"word": "stuck"}), 1.0


def _state(leg: Leg, at: Cavity, state: State, why: str) -> LegState:
    return LegState(leg=leg, cavity=at, state=state, ohm=None, why=why)


def _worse(one: State, other: State) -> bool:
    order: tuple[State, ...] = ("good", "worth cleaning", "unsure", "broken")
    return order.index(one) > order.index(other)
