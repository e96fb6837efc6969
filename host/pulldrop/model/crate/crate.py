"""A crate of used parts while it is sorted, as every screen sees it: terminal, page and phone show a CrateView.

Rule: one view holds all that is to be shown, so that a phone that slept needs only the newest one.
"""

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from pulldrop.model.origin import OfMany
from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.wording.harmless import typed


class Bin(StrEnum):
    """Where a part goes, in the order of its places from left to right on every screen.

    Only a finished run puts a part into KEEP or LIGHT_DUTY.
    """

    KEEP = "keep"
    LIGHT_DUTY = "light duty"
    LOOK_AGAIN = "look again"
    SCRAP = "scrap"


class Stage(StrEnum):
    """What the bench is about. STILL counts down until anything is energised; RESULT stays until the part is out."""

    CHECK = "check"
    INSERT = "insert"
    STILL = "still"
    TESTING = "testing"
    RESULT = "result"
    QUESTION = "question"
    STOPPED = "stopped"
    ENDED = "ended"


BEATS = 3
"""Beats of the countdown while a part must sit still; `steps_total` of its views."""


class Word(StrEnum):
    """What a RESULT without a bin says.

    VOID: the part was gone during its test; UNDONE: its placing does not hold; WELL: the golden part reads as it did.
    """

    VOID = "VOID"
    UNDONE = "UNDONE"
    WELL = "BENCH IS WELL"


class Control(StrEnum):
    """What a person can do. GO is the one key: space, a foot switch, a button; it answers a question with yes."""

    GO = "go"
    NO = "no"
    UNDO = "undo"
    SKIP = "skip"
    RETEST = "retest"
    NOTE = "note"
    RATING = "rating"
    PURPOSE = "purpose"
    CHOOSE = "choose"
    END = "end"


class Command(Frozen):
    """One control as pressed. `text`: the note, the rating's name, or what to test for.

    `seen`: version of the view that the person looked at, 0 for "whatever it is"; the crate refuses a stale one.
    `number`: the part that a note is for, 0 for the last one placed; with a number it counts whatever is shown.
    """

    control: Control
    text: Annotated[str, AfterValidator(typed)] = ""
    seen: int = Field(ge=0, default=0)
    number: int = Field(ge=0, default=0)


class Cause(Frozen):
    """What a part's first reason is about: the id of a fault that was named, or of a measurement beyond its limit."""

    about: Literal["fault", "limit"]
    id: str


class Placed(Frozen):
    """A part that has been sorted. `number` is written on it; `figures` are its key figures in words.

    `cause` is that of the first reason, None where a rule or a person gave it: parts are counted by it.
    `untested`: what a part that is used again was not tested for. `run` is empty when it was skipped, `same_as` the
    number under which it was in the socket before.
    """

    number: int = Field(ge=1)
    part: str
    run: str
    bin: Bin
    reasons: tuple[OneLine, ...]
    cause: Cause | None = None
    figures: tuple[OneLine, ...]
    at: datetime
    untested: OneLine = ""
    note: OneLine = ""
    same_as: int | None = None

    @property
    def told(self) -> tuple[str, ...]:
        """Its reasons, and what it was not tested for."""
        return (*self.reasons, f"not tested: {self.untested}") if self.untested else self.reasons


class Happened(StrEnum):
    """What is written down of a crate, one row each; nothing is taken back but by a later row.

    PLACED: a part got its bin; PULLED: it left the socket; UNDONE: the last placing does not hold; NOTED: a note to a
    number; SAME: it is the part that it looked like; OTHER: it is not; RATING: parts of another rating from here on;
    GOLDEN: a golden part was asked for, and what came of it; CHECKED: the bench's socket was found as it should be.
    """

    PLACED = "placed"
    PULLED = "pulled"
    UNDONE = "undone"
    NOTED = "noted"
    SAME = "same"
    OTHER = "other"
    RATING = "rating"
    GOLDEN = "golden"
    CHECKED = "checked"


class CrateHead(OfMany):
    """A crate as it was begun. A name never mixes real and simulated parts."""

    name: OneLine
    begun: datetime


class CrateEvent(Frozen):
    """One thing that happened to a crate. `number`: of the part that it is about, 0 for none; `text`: a note, a name.

    placed: with PLACED, the part as sorted; like: the number that it looks like, with `text` saying how much.
    """

    kind: Happened
    at: datetime
    number: int = Field(ge=0, default=0)
    run: str = ""
    text: OneLine = ""
    placed: Placed | None = None
    like: int | None = None


class CoilPicture(Frozen):
    """Coil current of the last step: seconds and amps, and the contacts' edges (seconds, throw, closed)."""

    time_s: tuple[float, ...]
    current_a: tuple[float, ...]
    edges: tuple[tuple[float, str, bool], ...] = ()


class CrateView(OfMany):
    """Everything a screen shows. `version` counts up with every change.

    word: what is read at two metres; sentence: what to do now; reasons: why, the weightiest first.
    go: what the one key does now, in words, empty when it does nothing; controls: what is possible now.
    tally: parts in each bin; last: the newest first. ratings: what RATING may name.
    golden: id of the golden part that is asked for; asked: the number that a QUESTION asks about, else 0.
    cautions: what can hurt, at this stage.
    """

    version: int = Field(ge=1)
    crate: str
    protocol: str
    rating: str = ""
    board: str
    stage: Stage
    number: int = Field(ge=1)
    word: str
    sentence: str
    reasons: tuple[OneLine, ...] = ()
    bin: Bin | None = None
    step: str = ""
    steps_done: int = Field(ge=0, default=0)
    steps_total: int = Field(ge=0, default=0)
    tally: tuple[tuple[Bin, int], ...] = ()
    last: tuple[Placed, ...] = ()
    picture: CoilPicture | None = None
    go: str = ""
    controls: tuple[Control, ...] = ()
    ratings: tuple[str, ...] = ()
    golden: str = ""
    asked: int = Field(ge=0, default=0)
    cautions: tuple[str, ...] = ()

    @property
    def about(self) -> tuple[str, ...]:
        """What must not have changed between a person's look and the press of a key."""
        return self.stage, self.word, str(self.number)

    @property
    def noted(self) -> int:
        """The part that a note begun at this view is for: the one shown with its bin, else the last one placed."""
        if self.bin is not None:
            return self.number
        return self.last[0].number if self.last else 0

    @property
    def beats(self) -> int:
        """Beats of the countdown that are left, 0 in any stage without one."""
        return self.steps_total - self.steps_done if self.stage is Stage.STILL else 0
