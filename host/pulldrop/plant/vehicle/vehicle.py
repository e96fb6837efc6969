"""The shape of one vehicle's file: its circuit, controls and relay socket, and the fault that is to be found."""

from collections.abc import Iterator
from typing import Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from pulldrop.plant.shape import Shape
from pulldrop.plant.vehicle.circuit import Solved, solve
from pulldrop.plant.vehicle.elements import AnyElement, Battery, Element, Moment, Words

Cavity = Literal["30", "85", "86", "87"]
Leg = Literal["feed", "ground", "trigger", "load"]
"""What a socket needs of its vehicle; a ground is that of the coil."""


class Control(Shape):
    """What a hand can move; it rests in the first of its positions."""

    name: str = Field(min_length=1, max_length=60)
    positions: Words = Field(min_length=2, max_length=8)


class Fault(Shape):
    """What happened to elements since the vehicle was sound: fields by element. `leg`: which is dead or weak by it."""

    says: str = Field(min_length=1, description="what a mechanic would write")
    leg: Leg | None = Field(description="null: none of the socket's own")
    changes: dict[str, dict[str, float | bool | str]] = Field(min_length=1)


class Socket(Shape):
    """Nodes at the cavities of a relay's socket, without its relay; which cavity is which leg's."""

    cavities: dict[Cavity, str] = Field(min_length=4, max_length=4)
    feed: Literal["30", "87"] = "30"
    ground: Literal["85", "86"] = "85"
    low_side: bool = Field(default=False, description="the control switches the coil's ground, its other end is fed")
    works: dict[str, str] = Field(min_length=1, description="controls and positions that should work the relay")

    def node(self, leg: Leg) -> str:
        """Where a leg ends."""
        number: dict[Leg, Cavity] = {
            "feed": self.feed,
            "load": "87" if self.feed == "30" else "30",
            "ground": self.ground,
            "trigger": "86" if self.ground == "85" else "85",
        }
        return self.cavities[number[leg]]


class Vehicle(Shape):
    """One vehicle. Everything is invented unless it says otherwise."""

    title: str = Field(min_length=1)
    invented: bool = True
    notes: str = ""
    system_v: Literal[6, 12, 24]
    minus: str = Field(description="node of the battery's minus post: volts count from it")
    elements: tuple[AnyElement, ...] = Field(min_length=2, max_length=200)
    controls: tuple[Control, ...] = ()
    socket: Socket
    fault: Fault | None = None

    @field_validator("elements", "controls", mode="before")
    @classmethod
    def _from_a_list(cls, given: Any) -> Any:
        return tuple(given) if isinstance(given, list) else given

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        for wrong in self._wrong():
            raise ValueError(wrong)
        return self

    def _wrong(self) -> Iterator[str]:
        names = [one.name for one in self.elements]
        nodes = {node for one in self.elements for node in (one.a, one.b)}
        positions = {one.name: one.positions for one in self.controls}
        yield from (f"two elements are called '{name}'" for name in names if names.count(name) > 1)
        if not any(isinstance(one, Battery) for one in self.elements):
            yield "it has no battery"
        for node in (self.minus, *self.socket.cavities.values()):
            if node not in nodes:
                yield f"no element ends at the node '{node}'"
        for one in self.elements:
            asked = getattr(one, "control", "")
            for where in getattr(one, "closed_in", ()):
                if where not in positions.get(asked, ()):
                    yield f"'{one.name}' closes in position '{where}' of '{asked}', which no control has"
        for control, where in self.socket.works.items():
            if where not in positions.get(control, ()):
                yield f"the socket works with '{control}' in '{where}', which no control has"
        for name in self.fault.changes if self.fault else ():
            if name not in names:
                yield f"the fault changes '{name}', which is no element"

    @property
    def at_rest(self) -> dict[str, str]:
        """Every control where it rests."""
        return {one.name: one.positions[0] for one in self.controls}

    def broken(self) -> tuple[Element, ...]:
        """The elements with the fault in."""
        changes = self.fault.changes if self.fault else {}
        return tuple(
            type(one).model_validate({**one.model_dump(), **changes.get(one.name, {})}) for one in self.elements
        )

    def solved(
        self, positions: dict[str, str], extra: tuple[Element, ...] = (), time_s: float = 0.0, sound: bool = False
    ) -> Solved:
        """With its fault unless `sound`; controls not named rest; `extra` is what hangs on it, such as a test load."""
        elements: tuple[Element, ...] = self.elements if sound else self.broken()
        return solve((*elements, *extra), self.minus, Moment(time_s, self.at_rest | positions))
