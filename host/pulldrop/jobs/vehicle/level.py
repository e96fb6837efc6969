"""Levels the lead: all clips on the battery's plus, then on its minus; and looks whether the battery is as was said."""

from collections.abc import Callable, Mapping
from typing import get_args

from pulldrop.jobs.vehicle.boards import Hand
from pulldrop.measure.lead import LeadRig, LeadTrouble
from pulldrop.model.vehicle.lead import Clip, LeadPlace, Spot
from pulldrop.model.wording.cautions import STOP_BELOW_V

SETTLE_S, TRIES = 0.05, 3
SOCKET: tuple[Spot, ...] = ("30", "86", "85")
"""Where X2 to X4 are on a simulated vehicle."""
RANGE_V = {6: (4.5, 8.5), 12: (9.0, 16.5), 24: (18.0, 33.0)}
"""What a battery of a system may stand at, engine off or on, with what the Nano's own 5 V errs."""


def on_post(post: Spot) -> LeadPlace:
    """X1 to X5 all on one post."""
    return LeadPlace(
        says=f"Black X6 on the battery's minus post; the other five on its {post} post, side by side on bare metal.",
        clips={"X6": "minus", **{f"X{n}": post for n in range(1, 6)}},
    )


def level(rig: LeadRig, hand: Hand, trouble: Callable[[str], None], tries: int = TRIES) -> float:
    """Volts of the battery, about. Raises LeadTrouble when the lead is still not as it has to be after some tries."""
    for post, look in (("plus", rig.level_on_plus), ("minus", rig.level_on_minus)):
        for left in range(tries - 1, -1, -1):
            hand(on_post(next(one for one in get_args(Spot) if one == post)))
            rig.pause(SETTLE_S)
            try:
                volts = look()
                break
            except LeadTrouble as error:
                if not left:
                    raise
                trouble(str(error))
        if post == "plus":
            battery = volts or 0.0
    return battery


def to_watch(names: Mapping[Clip, str], simulated: bool, wiggle: bool) -> LeadPlace:
    """X1 on plus, the others on what is watched: of a simulated vehicle its socket, the relay in to wiggle."""
    told = ", ".join(f"{clip} on {name}" for clip, name in names.items())
    spots: dict[str, Spot] = {"X1": "plus"}
    if simulated:
        spots |= dict(zip(names, SOCKET, strict=False))
    return LeadPlace(says=f"X1 on the battery's plus; {told}.", clips=spots, worked=wiggle, relay=wiggle)


def as_said(volts: float, system_v: int) -> str:
    """What contradicts the system that was named, as a sentence; nothing where none does."""
    least, most = RANGE_V[system_v]
    if least <= volts <= most:
        return ""
    fits = next((one for one, (low, high) in RANGE_V.items() if low <= volts <= high), None)
    if fits is not None:
        return f"The battery reads {volts:.1f} V: that is a {fits} V vehicle, and {system_v} V was said. Answer again."
    return f"The battery reads {volts:.1f} V, which is no {system_v} V battery. Look at X1 (red) and X6 (black)."


def too_low(volts: float, system_v: int) -> str:
    """What a battery below the stop says; nothing above it."""
    stop = STOP_BELOW_V * system_v / 12
    return f"The battery reads {volts:.1f} V, below {stop:.1f} V: charge it first." if volts < stop else ""
