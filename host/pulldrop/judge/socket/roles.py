"""Which cavity is which leg's: found from what the cavities give and take, at rest and worked, without a drawing."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pulldrop.model.vehicle.socket import Cavity, Hang, Look, Seen

MOVES = 0.15
"""Share of the battery's volts by which a cavity must change between rest and worked to count as the trigger."""
STANDS = 0.25
"""Share of the battery's volts that a cavity must give or take to count as joined to a post at all."""
COIL: tuple[Cavity, Cavity] = ("85", "86")
CONTACT: tuple[Cavity, Cavity] = ("30", "87")
FIRST: tuple[Hang, ...] = ("nothing", "1 kohm down", "1 kohm up", "coil down", "coil up")
"""Looks at each end of the coil: never more than the dummy coil, because a module may drive the wire."""


@dataclass(frozen=True)
class Roles:
    """Cavities by leg; `sure` false: nothing tells the coil's ends apart, and the usual order is shown.

    `trigger_stuck`: the trigger drives the coil with its control at rest.
    """

    feed: Cavity
    load: Cavity
    trigger: Cavity
    ground: Cavity
    low_side: bool
    sure: bool
    trigger_stuck: bool = False


def first_looks() -> tuple[Look, ...]:
    """The looks from which the roles are found: at rest, then with the control held where it should work the relay."""
    coil = tuple(
        Look(cavity=one, hang=hang, worked=worked) for worked in (False, True) for one in COIL for hang in FIRST
    )
    hangs: tuple[Hang, ...] = ("nothing", "1 kohm down", "1 A up")
    return coil + tuple(Look(cavity=one, hang=hang, worked=True) for one in CONTACT for hang in hangs)


def by_look(seen: Iterable[Seen]) -> dict[Look, Seen]:
    """What was seen, by its look; of the same look twice, the later."""
    return {one.look: one for one in seen}


def gives(seen: Mapping[Look, Seen], cavity: Cavity, worked: bool) -> float:
    """Share of the battery's volts that a cavity holds a dummy coil to ground at: 1 is a feed, 0 is none."""
    one = seen[Look(cavity=cavity, hang="coil down", worked=worked)]
    return one.volts.value / one.battery.value


def takes(seen: Mapping[Look, Seen], cavity: Cavity, worked: bool) -> float:
    """Share of the battery's volts that a cavity leaves to a dummy coil from plus: 1 is a ground, 0 is none."""
    one = seen[Look(cavity=cavity, hang="coil up", worked=worked)]
    return 1 - one.volts.value / one.battery.value


def roles(seen: Mapping[Look, Seen]) -> Roles:
    """The cavities' roles. Needs every look of `first_looks`; KeyError names one that is missing."""
    feed = _feed(seen)
    load: Cavity = "87" if feed == "30" else "30"
    moved = {
        one: (gives(seen, one, True) - gives(seen, one, False), takes(seen, one, True) - takes(seen, one, False))
        for one in COIL
    }
    trigger = max(COIL, key=lambda one: max(moved[one]))
    if max(moved[trigger]) >= MOVES:
        rises, sinks = moved[trigger]
        return Roles(feed, load, trigger, _other(trigger), low_side=sinks > rises, sure=True)
    return _unmoved(seen, feed, load)


def _feed(seen: Mapping[Look, Seen]) -> Cavity:
    """Of 30 and 87 that which holds 1 kohm up; where neither does, that which takes no current from plus."""
    held = {one: seen[Look(cavity=one, hang="1 kohm down", worked=True)] for one in CONTACT}
    if max(one.volts.value / one.battery.value for one in held.values()) >= STANDS:
        return max(CONTACT, key=lambda one: held[one].volts.value)
    taken = {one: seen[Look(cavity=one, hang="1 A up", worked=True)].amps.value for one in CONTACT}
    return "87" if taken["30"] > taken["87"] else "30"


def _unmoved(seen: Mapping[Look, Seen], feed: Cavity, load: Cavity) -> Roles:
    """Neither end moved: what stands there tells which end waits for a trigger, if anything does."""
    fed = {one: gives(seen, one, True) for one in COIL}
    grounded = {one: takes(seen, one, True) for one in COIL}
    most_fed, most_grounded = max(COIL, key=lambda one: fed[one]), max(COIL, key=lambda one: grounded[one])
    if fed[most_fed] >= STANDS and grounded[most_grounded] >= STANDS and most_fed != most_grounded:
        return Roles(feed, load, most_fed, most_grounded, low_side=False, sure=False, trigger_stuck=True)
    if fed[most_fed] >= STANDS and fed[_other(most_fed)] < STANDS:
        return Roles(feed, load, _other(most_fed), most_fed, low_side=True, sure=True)
    if grounded[most_grounded] >= STANDS:
        return Roles(feed, load, _other(most_grounded), most_grounded, low_side=False, sure=True)
    return Roles(feed, load, "86", "85", low_side=False, sure=False)


def _other(one: Cavity) -> Cavity:
    return "86" if one == "85" else "85"
