"""A switch's table as a bench finds it: positions, which terminals each joins, how it goes from one to the next."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from pulldrop.model.raw import Frozen

Between = Literal["make before break", "break before make"]


MARKS = "ABCDEFGH"
"""One letter for each group that is joined, so that two groups of one position stay apart without colour."""
OPEN = "open"
BackOhm = Annotated[
    float | None,
    BeforeValidator(lambda written: math.inf if written == OPEN else written),
    PlainSerializer(lambda ohm: OPEN if ohm is not None and math.isinf(ohm) else ohm, when_used="json"),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"const": OPEN}, {"type": "null"}]}),
]
"""JSON has no infinity."""


class Through(Frozen):
    """Two terminals joined by more than a contact: a lamp, a resistor, a film; `ohm` for current that goes in at `a`.
    `back_ohm`: the other way round, None where that was not looked at, infinite where nothing flows."""

    a: str
    b: str
    ohm: float
    back_ohm: BackOhm = None

    @property
    def one_way(self) -> bool:
        """Whether it conducts better one way round, as a diode or LED does."""
        return self.back_ohm is not None and not 0.7 < self.back_ohm / self.ohm < 1.4


class JoinedState(Frozen):
    """What is joined at a moment: groups of terminals, each in the bench's order, and what conducts between groups."""

    groups: tuple[tuple[str, ...], ...] = ()
    through: tuple[Through, ...] = ()

    def group(self, terminal: str) -> tuple[str, ...]:
        """The terminals that one is joined with, itself among them."""
        return next((one for one in self.groups if terminal in one), (terminal,))

    def joined(self, a: str, b: str) -> bool:
        """Whether two terminals are in one group."""
        return b in self.group(a)

    def mark(self, terminal: str) -> str:
        """A letter for the group that a terminal is in, a dot where nothing joins it."""
        group = self.group(terminal)
        return MARKS[self.groups.index(group) % len(MARKS)] if len(group) > 1 else "."

    def __str__(self) -> str:
        """For people: `30-58-56; 58-31 through 9.5 ohm`."""
        told = ["-".join(one) for one in self.groups]
        told += [f"{one.a}-{one.b} through {one.ohm:.3g} ohm" for one in self.through]
        return "; ".join(told) or "nothing joined"


class Position(Frozen):
    """One position: what it joins, how often it was seen settled, and to which position (by number from 0) it springs
    back; `sprung` None: not found out. `unsteady`: pairs that opened or closed while it was held still."""

    state: JoinedState
    visits: int
    sprung: bool | None = None
    springs_to: int | None = None
    unsteady: tuple[str, ...] = ()


class Passage(Frozen):
    """How contacts go from one position to its neighbour, by number from 0. `between` None: too fast to tell, or no
    contact takes over from another. `opens`: pairs joined in both that open on the way: a dead spot, or so by design.
    """

    start: int
    end: int
    between: Between | None = None
    opens: tuple[str, ...] = ()


class SwitchTable(Frozen):
    """`terminals` in the bench's order. `inside`: parts built in, in every position alike. `doubts`: why the table may
    be wrong or lack something, in words; a table without any is certain. `odd`: those of them that are of the switch
    itself, such as a loose contact, and not of how it was turned."""

    terminals: tuple[str, ...]
    positions: tuple[Position, ...]
    passages: tuple[Passage, ...] = ()
    inside: tuple[Through, ...] = ()
    doubts: tuple[str, ...] = ()
    odd: tuple[str, ...] = ()

    def __str__(self) -> str:
        """For people: `4 positions`; the table itself stands beside it."""
        return f"{len(self.positions)} position{'s' if len(self.positions) != 1 else ''}"


class Say(StrEnum):
    """What the bench says to whoever turns a switch, by sound and in large letters."""

    NEXT = "next position"
    LET_GO = "let go"
    HURRY = "slower: rest on each position until the tone"
    SLOWLY = "now once slowly through all positions"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Progress:
    """What a screen shows while a switch is learnt: the table so far, the place it rests on, and what was said last."""

    table: SwitchTable
    at: int | None
    said: Say | None
