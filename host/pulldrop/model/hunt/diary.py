"""What happened in a hunt, in order: enough to store it and to go through it again."""

from typing import Annotated, Literal

from pydantic import Field

from pulldrop.model.hunt.ask import AskReason, Move
from pulldrop.model.hunt.control import CabinControl, Precautions
from pulldrop.model.hunt.look import Side, WireLook
from pulldrop.model.raw import Frozen


class StepSeen(Frozen):
    """Moves that the person says were done, and a look after each. `own`: other ones than were asked."""

    kind: Literal["seen"] = "seen"
    moves: tuple[Move, ...]
    looks: tuple[WireLook, ...]
    pace_s: float
    wait_s: float
    fall_s: float
    reason: AskReason
    own: bool = False
    at_s: float = 0.0


class PositionsRead(Frozen):
    """Positions as the person read them aloud, one for each control in the order of the hunt."""

    kind: Literal["read"] = "read"
    positions: tuple[int, ...]
    reason: AskReason
    at_s: float = 0.0


class Touch(Frozen):
    """One tap of the person: this control was just put there."""

    control: str
    position: int
    at_s: float


class WireEdge(Frozen):
    """The wire changed to this level."""

    look: WireLook
    at_s: float


class Played(Frozen):
    """Free play: what was touched, and the edges of the wire meanwhile."""

    kind: Literal["played"] = "played"
    touches: tuple[Touch, ...]
    edges: tuple[WireEdge, ...]
    before: WireLook
    at_s: float = 0.0


class Paused(Frozen):
    """The key was off for this long."""

    kind: Literal["paused"] = "paused"
    moves: tuple[Move, ...]
    at_s: float = 0.0


DiaryEntry = Annotated[StepSeen | PositionsRead | Played | Paused, Field(discriminator="kind")]


class Diary(Frozen):
    """A whole hunt."""

    controls: tuple[CabinControl, ...]
    precautions: Precautions
    side: Side
    seed: int
    most_steps: int
    entries: tuple[DiaryEntry, ...]
