"""One part at a time on the bench, as every screen sees it: looked at, proposed, tested, and its result.

Rule: one view holds all that is to be shown; only the view of a finished run carries a result.
"""

from typing import Literal

from pydantic import Field

from pulldrop.model.crate.crate import CoilPicture, Control, Stage
from pulldrop.model.origin import OfMany
from pulldrop.model.raw import OneLine
from pulldrop.model.run.short import ShortResult

Cue = Literal["", "question", "on", "off", "well", "look again"]
"""A rhythm that is sounded."""


class SingleView(OfMany):
    """Everything a screen shows. `version` counts up with every change.

    word: what is read at two metres; sentence: what to do now; reasons: what was seen, or is to be known beside it.
    proposed: what it will be tested by; kinds: names and titles of what RATING may name, where nobody knows it.
    part: the id of the part that is being tested, or was; result: how its run ended.
    go: what the one key does now, in words; last: word and part of the runs before, the newest first.
    volts: where a knob stands that a hand turns, of most_v; None while none is turned.
    cue: how its word is heard, once.
    """

    version: int = Field(ge=1)
    board: str
    stage: Stage
    word: str
    sentence: str
    reasons: tuple[OneLine, ...] = ()
    proposed: str = ""
    kinds: tuple[tuple[str, str], ...] = ()
    part: str = ""
    result: ShortResult | None = None
    step: str = ""
    steps_done: int = Field(ge=0, default=0)
    steps_total: int = Field(ge=0, default=0)
    picture: CoilPicture | None = None
    go: str = ""
    controls: tuple[Control, ...] = ()
    last: tuple[tuple[str, str], ...] = ()
    volts: float | None = None
    most_v: float = 0.0
    cue: Cue = ""
    cautions: tuple[str, ...] = ()

    @property
    def about(self) -> tuple[str, ...]:
        """What must not have changed between a person's look and the press of a key."""
        return self.stage, self.word, self.part, self.sentence, self.proposed
