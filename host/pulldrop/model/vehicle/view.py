"""What a screen shows of wires that are watched; every view is whole."""

from typing import Literal

from pydantic import Field

from pulldrop.model.origin import OfMany
from pulldrop.model.raw import Frozen, OneLine

LiveWord = Literal["ON", "LOW", "WEAK", "OFF", "PULSED"]


class LineView(Frozen):
    """One wire: its name, the clip that is on it, its word of this moment, volts; rate and duty where it is pulsed."""

    name: OneLine
    clip: str
    word: LiveWord
    volts: float
    hz: float = 0.0
    duty: float = 0.0


class WatchView(OfMany):
    """`version` counts up with every view. `moment` names what is to be heard once, `cue` how; `last`: what happened,
    the newest first; `stale`: nothing new came from the board, and what to look at; `move`: what to move, or to wait.
    """

    version: int = Field(ge=1)
    board: str
    lines: tuple[LineView, ...]
    battery_v: float
    at_s: float
    lost: int = 0
    moment: str = ""
    cue: Literal["", "on", "off", "between", "loss"] = ""
    last: tuple[OneLine, ...] = ()
    stale: str = ""
    move: str = ""
