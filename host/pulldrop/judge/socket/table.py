"""The decision table behind a socket: which leg is to be mended first, what that means, and where the probe goes next.

Rule: the table is data, read from the top; the first row that fits decides. A test goes through every combination.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from pulldrop.judge.socket import legs
from pulldrop.judge.socket.roles import Roles, by_look, roles
from pulldrop.model.vehicle.socket import Leg, LegState, Seen, SocketFound, State

Sort = Literal["any", "good", "open", "broken"]
"""Good: good, or worth cleaning. Open: unsure, or not looked at."""
ORDER: tuple[Leg, ...] = ("feed", "ground", "trigger", "load")


@dataclass(frozen=True)
class Row:
    """States of feed, ground, trigger and load that it fits; the leg to mend first, and the words.

    In `next`, {cavity} is the number of that leg's cavity.
    """

    fits: tuple[Sort, Sort, Sort, Sort]
    first: Leg | None
    said: str
    next: str


ANY: Sort = "any"
TABLE: tuple[Row, ...] = (
    Row(
        ("broken", "broken", "broken", ANY),
        "feed",
        "feed, ground and trigger are all dead: what they share is",
        "Look at the battery, its main fuse or isolator and its ground strap before this socket; then measure again.",
    ),
    Row(
        ("broken", ANY, "broken", ANY),
        "feed",
        "feed and trigger are both dead: probably what feeds both",
        "Probe both sides of the fuse that feeds cavity {cavity}, then the post that feeds it, with the circuit on.",
    ),
    Row(
        ("broken", ANY, ANY, ANY),
        "feed",
        "cavity {cavity} has no feed that carries a load",
        "Probe both sides of its fuse with a load on cavity {cavity}: the side that stays up is before the fault.",
    ),
    Row(
        (ANY, "broken", "broken", ANY),
        "ground",
        "ground and trigger of the coil are both dead",
        "Put a fused lead from battery minus on cavity {cavity} and measure again: what stays dead is the trigger.",
    ),
    Row(
        (ANY, "broken", ANY, ANY),
        "ground",
        "the coil's end at cavity {cavity} has no ground that carries its current",
        "Follow its wire to the ring; measure from battery minus to wire, ring, stud and body with the coil on.",
    ),
    Row(
        (ANY, ANY, "broken", ANY),
        "trigger",
        "no trigger comes to cavity {cavity} with its control worked",
        "Probe the control's feed, then its output: no output is the control, output and no trigger is the wire.",
    ),
    Row(
        ("open", ANY, ANY, ANY),
        "feed",
        "whether the feed carries the load is not settled",
        "Hang a load on cavity {cavity} and measure again, clips on the battery's posts and nowhere else.",
    ),
    Row(
        (ANY, "open", ANY, ANY),
        "ground",
        "whether the coil's ground is good is not settled",
        "Measure cavity {cavity} again with side lamps, dipped, main, brake lamps and indicators on in turn.",
    ),
    Row(
        (ANY, ANY, "open", ANY),
        "trigger",
        "whether the trigger is good is not settled",
        "Measure cavity {cavity} again with the control worked; unplug what else hangs on its wire.",
    ),
    Row(
        ("good", "good", "good", "broken"),
        "load",
        "feed, ground and trigger are good, and the load at cavity {cavity} is not",
        "Go to the load: unplug it, look for the feed at its plug, then its own ground, then the bulb or its holder.",
    ),
    Row(
        ("good", "good", "good", "open"),
        "load",
        "feed, ground and trigger are good; the load is not settled",
        "Measure the load at cavity {cavity} again, with the watts printed on its bulbs.",
    ),
    Row(
        ("good", "good", "good", "good"),
        None,
        "feed, ground, trigger and load are good: the relay itself comes next",
        "Test the relay on the bench under load; then measure again with the relay on top of the adapter.",
    ),
)


def row(states: Mapping[Leg, State]) -> Row:
    """The first row that fits."""
    return next(
        one for one in TABLE if all(_fits(states[leg], sort) for leg, sort in zip(ORDER, one.fits, strict=True))
    )


def decide_socket(
    seen: Iterable[Seen],
    coil_ohm: float,
    lit: Sequence[str] = (),
    watts: float | None = None,
    rated_v: float = 12.0,
) -> SocketFound:
    """The legs and the first to mend. Raises KeyError when one of the first looks is missing.

    `coil_ohm`: of the relay that goes there; `lit`: circuits that were turned on for a second look at the ground;
    `watts` and `rated_v`: of all bulbs of the load.
    """
    looks = by_look(seen)
    found = roles(looks)
    supply = legs.feed(looks, found, watts, rated_v)
    good = supply.state in ("good", "worth cleaning")
    states = (
        supply,
        legs.ground(looks, found, coil_ohm, lit),
        legs.trigger(looks, found, coil_ohm),
        legs.load(looks, found, watts, rated_v, good),
    )
    return verdict(states, found)


def verdict(states: tuple[LegState, ...], found: Roles) -> SocketFound:
    """What these four states mean together."""
    by_leg = {one.leg: one for one in states}
    fit = row({leg: by_leg[leg].state for leg in ORDER})
    cavity = by_leg[fit.first].cavity if fit.first else None
    said = fit.said.format(cavity=cavity)
    if by_leg["ground"].lamps and fit.first is None:
        said += "; lamps in the ground's way are not excluded"
    if not found.sure:
        said += "; 85 and 86 could not be told apart"
    return SocketFound(
        legs=states, first=fit.first, low_side=found.low_side, said=said, next=fit.next.format(cavity=cavity)
    )


def _fits(state: State, sort: Sort) -> bool:
    match sort:
        case "any":
            return True
        case "good":
            return state in ("good", "worth cleaning")
        case "open":
            return state in ("unsure", "not looked at")
        case _:
            return state == sort
