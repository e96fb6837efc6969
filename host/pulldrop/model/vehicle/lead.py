"""What the vehicle lead of a bare Nano shows: its levelling, one look at all clips, and one reading of a watch."""

import math
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.vehicle.socket import Value

Clip = Literal["X2", "X3", "X4"]
"""Clips beside X1, which is on the battery's plus post."""
CLIPS: tuple[Clip, ...] = ("X2", "X3", "X4")
COLOURS = {
    "X1": "red", "X2": "yellow", "X3": "green", "X4": "blue", "X5": "white", "X6": "black", "X7": "the bulb's red",
    "X8": "the bulb's black",
}  # fmt: skip


class LeadLevel(Frozen):
    """Mean counts of X1 to X4 with all of them on the battery's plus, then on its minus, and of X5 on minus."""

    plus: tuple[float, float, float, float]
    minus: tuple[float, float, float, float]
    ground: float = Field(ge=0)


Spot = Literal["plus", "minus", "30", "85", "86", "87"]
"""Where a clip goes: the battery's posts, and the cavities of a relay's socket."""
Glow = Literal["bright", "dim", "dark"]
"""The bulb, as a person sees it."""


class LeadPlace(Frozen):
    """What a person is asked to do at the vehicle: `says` it; clips that are not named stay, the bulb does not.

    `worked`: the controls held as they should work the relay; `relay`: it is in its socket; `lit`: another
    circuit that is on.
    """

    says: OneLine
    clips: dict[str, Spot] = Field(default_factory=dict)
    bulb: tuple[Spot, Spot] | None = None
    relay: bool = False
    worked: bool = False
    lit: OneLine = ""


class LeadSeen(Frozen):
    """One look: volts at X1, what X2 to X4 have of them, and volts at X5 where it was looked at; all from X6.

    The battery's uncertainty is mostly that of the Nano's 5 V, which the shares do not have.
    """

    battery: Value
    shares: tuple[Value, Value, Value]
    ground: Value | None = None

    def volts(self, clip: Clip) -> Value:
        """At a clip."""
        share = self.shares[CLIPS.index(clip)]
        return _times(self.battery, share)

    def below(self, clip: Clip) -> Value:
        """By which a clip is below X1."""
        share = self.shares[CLIPS.index(clip)]
        return _times(self.battery, Value(value=1 - share.value, u=share.u, scatter=share.scatter))


class LeadLooks(Frozen):
    """What a socket showed to the lead. Relay out, X2 on 30, X3 on 85, X4 on 86: `open_rest`, `open_worked`.

    `fed`: the cavity, of 30 and 87, that has the feed; then with the control worked: `bulb`, the bulb from there to the
    battery's minus, X2 on it; `series`, the bulb between 30 and 87, X2 on the fed one, X3 on the other. Relay in, X2 on
    the fed one, X3 on 85, X4 on 86, X5 on `grounded`: `coil_rest`, `coil_worked`, and `lit`, the same with another
    circuit on, by its name.
    """

    open_rest: LeadSeen
    open_worked: LeadSeen
    fed: Literal["30", "87"]
    bulb: LeadSeen
    bulb_glow: Glow | None = None
    series: LeadSeen | None = None
    coil_rest: LeadSeen
    coil_worked: LeadSeen
    grounded: Literal["85", "86"] = "85"
    lit: dict[str, LeadSeen] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LeadReading:
    """`at_s` since the watch began, on the board's clock; volts of X1 to X4; `lost`: readings before it that are."""

    at_s: float
    volts: tuple[float, float, float, float]
    lost: int = 0


def _times(volts: Value, share: Value) -> Value:
    return Value(
        value=volts.value * share.value,
        u=math.hypot(volts.u * share.value, volts.value * share.u),
        scatter=math.hypot(volts.scatter * share.value, volts.value * share.scatter),
    )
