"""What a hunt asks of the person next: each is typed, `model/wording/words.py` says it."""

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field

from pulldrop.model.raw import Frozen


class AskReason(StrEnum):
    """Why; a step that was done before always says why it comes again."""

    CLEAR = "clear"
    SEARCH = "search"
    AGAIN = "again"
    RETEST = "retest"
    FALL = "fall"
    PROVE = "prove"
    SECOND_PASS = "second pass"
    SURPRISED = "surprised"
    OVERDUE = "overdue"
    BEFORE_PROOF = "before proof"
    BEFORE_GIVING_UP = "before giving up"
    COIL_RESTS = "coil rests"


class Move(Frozen):
    """Put one control into one position, and leave it there or, where it springs back, hold it."""

    control: str
    position: int


class SetStep(Frozen):
    """Moves one after the other; held ones are let go by moves. The wire is watched for `pace_s` after each, for
    `wait_s` after the last, or where nothing is moved; where it was on before the move, until it goes off, for `fall_s`
    at most. To time the fall (FALL) the last move alone is watched for so long."""

    kind: Literal["set"] = "set"
    moves: tuple[Move, ...]
    pace_s: float
    wait_s: float
    fall_s: float
    reason: AskReason


class ReadBackStep(Frozen):
    """Read aloud the position of every control."""

    kind: Literal["read back"] = "read back"
    reason: AskReason


class PauseStep(Frozen):
    """Key off, and wait."""

    kind: Literal["pause"] = "pause"
    moves: tuple[Move, ...]
    seconds: float
    reason: AskReason = AskReason.COIL_RESTS


AnyAsk = Annotated[SetStep | ReadBackStep | PauseStep, Field(discriminator="kind")]
