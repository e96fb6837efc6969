"""A part without a coil on the bench's lines: the socket sees an open coil, its scan what the part's terminals join.

Rule: how the part moves is its own; here are only the lines that its terminals hang on.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Protocol, Self

from pydantic import ConfigDict

from pulldrop.plant.network import Element, Resistor
from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.relay.suppression import Harness
from pulldrop.plant.specimen import Faults, Specimen, parts
from pulldrop.plant.switch.contacts import Knob
from pulldrop.plant.switch.person import Habits, Person

LINES = ("lead 1", "lead 2", "lead 3", "lead 4", "87", "87a", "85", "30")
"""Where the first terminal of a part goes, the second, and so on. 86 stays free, for the coil supply hangs on it, and
30 is ground."""
BARE_LINES = ("30", "87", "87a", "85", "86")
"""The same on a bare board, which has no leads."""


@dataclass(frozen=True)
class Wired:
    """A part that was put in: its network between its own terminals by time, these terminals, the knob that a hand
    moves, its positions, and those that spring back, each with where it goes."""

    elements: Callable[[float], tuple[Element, ...]]
    terminals: tuple[str, ...]
    knob: Knob
    positions: int
    springs: dict[int, int]

    def person(self, seed: int, habits: Habits | None = None) -> Person:
        """Whoever turns it."""
        return Person(self.knob, self.positions, self.springs, seed, habits or Habits())


class Wires(Protocol):
    """A specimen that can be put on the lines."""

    @property
    def title(self) -> str:
        """One line that a person reads."""

    def wired(self, seed: int) -> Wired:
        """A new part of it."""


class Bystander(RelayModel):
    """What the socket has instead of a relay: no coil, and the part on its lines."""

    wired: Wired


class Inserted(Specimen):
    """A part on the lines, for a bench that asks for a relay: its coil is open, its contacts are never seen closed by
    the edge pins."""

    model_config = ConfigDict(arbitrary_types_allowed=True)

    part: Any
    lines: tuple[str, ...] = LINES

    @classmethod
    def of(cls, part: Wires, lines: tuple[str, ...] = LINES) -> Self:
        """With its terminals on these lines, in their order."""
        faults = Faults(coil_open=True, stuck="at rest")
        return cls(title=part.title, form="A", faults=faults, part=part, lines=lines)

    def on_bare(self) -> "Inserted":
        """The same on the lines of a bare board."""
        return self.of(self.part, BARE_LINES)

    def relay(self, temperature_c: float, seed: int | None, harness: Harness) -> RelayModel:
        """See `Specimen`."""
        model = Bystander(parts(self), temperature_c, seed, harness)
        model.wired = self.part.wired(seed or 0)
        return model

    def network(self, relay: RelayModel, _ohm: tuple[float | None, float | None], time_s: float) -> tuple[Element, ...]:
        """See `Specimen`."""
        assert isinstance(relay, Bystander)
        names = dict(zip(relay.wired.terminals, self.lines, strict=False))
        return tuple(_renamed(one, names) for one in relay.wired.elements(time_s))


def _renamed(one: Element, names: dict[str, str]) -> Element:
    def line(terminal: str) -> str:
        return terminal if terminal == "gnd" else names.get(terminal, f"in {terminal}")

    if isinstance(one, Resistor):
        return replace(one, a=line(one.a), b=line(one.b))
    return replace(one, anode=line(one.anode), cathode=line(one.cathode))
