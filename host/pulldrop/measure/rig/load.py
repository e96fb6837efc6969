"""Pulses of load through a closed throw: which branches give it, in which range it fits, and rest when the board asks.

Rule: a pulse refused for duty has switched nothing; it is asked for again with the coil off in between.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import PULSE_MS_MAX, Branch, Pulse
from pulldrop.measure.rig.counts.ranges import FINEST, FULL, GAINS, MOST_PAIRS, PAIR_MS
from pulldrop.measure.rig.rig import CannotTest, Rig
from pulldrop.model.raw import Contact, PulseCounts

SETTLE_MS, SPARE_MS = 4, 60
"""From a load's switching to its first pair of conversions; how long after the pulse the board ends it by itself."""
REST_S, PATIENCE = 1.0, 12
"""The board allows load for a tenth of 10 s: how long to rest when it refuses, and how often."""
MAKE_S, BREAK_S = 0.04, 0.03
"""From switching the coil until a throw is at rest, its bounce over."""
LEAST_SHARE = 0.5
"""Below this share of the asked current the contact, or a broken wire, holds it back."""
BRANCHES = ((20.0, Branch.A20), (10.0, Branch.A10), (5.0, Branch.A5), (1.0, Branch.A1))

T = TypeVar("T")


def branches_for(load_a: float) -> Branch:
    """The branches that together give `load_a`, largest first; raises CannotTest when none do."""
    chosen, rest = Branch.NONE, load_a
    for amps, branch in BRANCHES:
        if rest >= amps - 1e-9:
            chosen, rest = chosen | branch, rest - amps
    if rest > 1e-9 or not chosen:
        raise CannotTest(f"the load branches 1, 5, 10 and 20 A cannot make {load_a:g} A")
    return chosen


def pulse_of(throw: Contact, load_a: float, seconds: float, gain: int) -> Pulse:
    """A pulse of this length, read in pairs from its settling on."""
    pairs = max(1, round((seconds * 1000 - SETTLE_MS) / PAIR_MS))
    limit_ms = min(round(seconds * 1000) + SPARE_MS, PULSE_MS_MAX)
    return Pulse(throw, branches_for(load_a), SETTLE_MS, min(pairs, MOST_PAIRS), limit_ms, gain=gain)


def close_no(rig: Rig, coil_v: float) -> None:
    """NO made by the coil. CannotTest when it stays open."""
    rig.energise(coil_v, MAKE_S)
    if not rig.contacts() & Contact.NO:
        raise CannotTest("30-87 did not close, so it could not be loaded")


def carried(
    rig: Rig, coil_v: float | None, pulse: Pulse, dead: Callable[[PulseCounts], bool] = lambda _counts: False
) -> PulseCounts:
    """A pulse as soon as the board allows it, in the first range from its own on that holds it; `dead`: see `in_range`.

    `coil_v`: of the coil that closes the throw, None where it is closed at rest. The coil is off while the board wants
    rest, and then makes again.
    """

    def again() -> None:
        if coil_v is not None:
            rig.energise(coil_v, MAKE_S)

    def ask(gain: int) -> PulseCounts:
        return rested(rig, lambda: rig.board.load_pulse(replace(pulse, gain=gain)), again)

    return in_range(ask, gain=pulse.gain, dead=dead)[0]


def in_range(
    ask: Callable[[int], PulseCounts],
    count: int = 1,
    gain: int = FINEST,
    dead: Callable[[PulseCounts], bool] = lambda _counts: False,
) -> list[PulseCounts]:
    """`count` pulses in one range of the converter, the first from `gain` on that none of them fills, or the widest.

    `ask` makes one in a range. Where it fills that, all are made again in the next wider range, or in the widest for
    a contact that is `dead`.
    """
    made: list[PulseCounts] = []
    while len(made) < count:
        made.append(ask(gain))
        if max(map(abs, made[-1].drop)) >= FULL and gain != GAINS[-1]:
            gain = GAINS[-1] if dead(made[-1]) else GAINS[GAINS.index(gain) + 1]
            made.clear()
    return made


def rested(
    rig: Rig,
    load: Callable[[], T],
    again: Callable[[], None] = lambda: None,
    rest_s: Callable[[], float] = lambda: REST_S,
    rest: Callable[[], None] | None = None,
) -> T:
    """Refused for duty means that nothing was switched: let the load resistors rest, coil off, and load `again`.

    `rest`: how to rest instead, where the throw has to stay made.
    """
    for _ in range(PATIENCE):
        try:
            return load()
        except Refused as refused:
            if refused.reason != "duty":
                raise
        if rest is not None:
            rest()
            continue
        rig.release(0.0)
        rig.wait(rest_s())  # whole: a coil that has long been off says nothing of the load
        again()
    raise CannotTest(f"the board refused load pulses {PATIENCE} times because of its duty limit")
