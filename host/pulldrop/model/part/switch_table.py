"""A switch's table as a bench finds it: positions, which terminals each joins, how it goes from one to the next."""

from typing import Literal

from pulldrop.model.raw import Frozen

Between = Literal["make before break", "break before make"]


class Through(Frozen):
    """Two terminals joined by more than a contact: a lamp, a resistor, a film; `ohm` for current that goes in at `a`.
    `back_ohm`: the other way round, None where that was not looked at, infinite where nothing flows."""

    a: str
    b: str
    ohm: float
    back_ohm: float | None = None

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
    be wrong or lack something, in words; a table without any is certain."""

    terminals: tuple[str, ...]
    positions: tuple[Position, ...]
    passages: tuple[Passage, ...] = ()
    inside: tuple[Through, ...] = ()
    doubts: tuple[str, ...] = ()
