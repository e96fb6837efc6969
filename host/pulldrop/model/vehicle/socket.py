"""Looks at a relay's socket with the relay out, what each showed, and the state of the four legs behind it.

Cavities have the numbers of the relay's blades; volts count from the clip on the battery's minus post.
"""

from typing import Literal

from pydantic import Field

from pulldrop.model.raw import Frozen, OneLine

Cavity = Literal["30", "85", "86", "87"]
Leg = Literal["feed", "ground", "trigger", "load"]
"""Ground: of the coil, or where the trigger switches ground, the coil's own feed."""
Hang = Literal[
    "nothing", "1 kohm down", "1 kohm up", "coil down", "coil up", "1 A down", "5 A down", "1 A up", "joined"
]
"""What hangs on the cavity: down to the clip on the battery's minus, up to that on its plus; a coil is the dummy of 100
ohm (24 V: 330); 1 A and 5 A are pulses. Joined: 30 to 87, as the relay's contact would."""
State = Literal["good", "worth cleaning", "broken", "unsure", "not looked at"]


class Look(Frozen):
    """`worked`: with the controls as they should work the relay; `lit`: another circuit that is on, or none."""

    cavity: Cavity
    hang: Hang
    worked: bool
    lit: OneLine = ""


class Value(Frozen):
    """A value in SI with its standard uncertainty; `scatter` is the part of it that differs from look to look."""

    value: float
    u: float = Field(ge=0)
    scatter: float = Field(default=0.0, ge=0)


class Seen(Frozen):
    """What one look showed: volts at the battery's posts and at the cavity, amps through what hung there (down or
    joined: out of the cavity; up: into it)."""

    look: Look
    battery: Value
    volts: Value
    amps: Value


class LegState(Frozen):
    """One leg: `ohm` from the battery's post to the cavity, where it could be measured; `why` names figure and limit;
    `word`: what a person reads of it where the looks were the vehicle lead's."""

    leg: Leg
    cavity: Cavity | None
    state: State
    ohm: Value | None
    why: OneLine
    lamps: bool = False
    word: Literal["", "alive", "weak", "dead", "stuck", "unsure", "not looked at"] = ""


class SocketFound(Frozen):
    """The four legs, the first of them to mend or to settle, and where to look next."""

    legs: tuple[LegState, ...]
    first: Leg | None
    low_side: bool
    said: OneLine
    next: OneLine
