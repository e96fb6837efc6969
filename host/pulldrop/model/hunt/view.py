"""What a screen shows of a hunt, terminal and page alike; every view is whole."""

from typing import Literal

from pydantic import Field

from pulldrop.model.origin import OfMany
from pulldrop.model.raw import Frozen, OneLine

DONE, LEAVE = " ", "q"
"""Keys of the one button, and of leaving."""


class HuntChoice(Frozen):
    """What a person may press: its key, and what it says."""

    key: str = Field(min_length=1, max_length=1)
    says: OneLine


class HuntView(OfMany):
    """`version` counts up with every view. `word`: what is read at two metres; `now`: what to do; `why`: may be empty;
    `steps`: the moves of the whole step, `at` in it; `typed`: what was pressed so far. `level`: the wire of this
    moment; `waits_s`: for how long it is only watched. `stale`: nothing comes from the board, and what to look at.
    `moment` names what is heard once, `cue` how."""

    version: int = Field(ge=1)
    board: str
    wire: OneLine
    level: OneLine = ""
    acts: bool = False
    wire_v: float = 0.0
    battery_v: float = 0.0
    step: int = Field(ge=0)
    word: OneLine
    now: OneLine
    why: OneLine = ""
    steps: tuple[OneLine, ...] = ()
    at: int = 0
    typed: tuple[OneLine, ...] = ()
    choices: tuple[HuntChoice, ...] = ()
    waits_s: float = 0.0
    stale: str = ""
    over: bool = False
    cautions: tuple[str, ...] = ()
    moment: str = ""
    cue: Literal["", "question", "on", "off", "well", "look again"] = ""

    @property
    def about(self) -> tuple[str, ...]:
        """What must not have changed between a person's look and the press of a key."""
        return str(self.step), str(self.at), self.now, *self.typed
