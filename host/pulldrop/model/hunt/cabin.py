"""A cabin as its file names it: the wire that is hunted, its vehicle, and every control that a person can operate."""

from typing import Literal, Self

from pydantic import Field, model_validator

from pulldrop.model.hunt.control import CabinControl, ControlKind, Harm, Precautions, Reach
from pulldrop.model.hunt.look import Side
from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.wording.cautions import STOP_BELOW_V

USUAL: dict[ControlKind, tuple[tuple[str, ...], dict[str, str]]] = {
    ControlKind.LATCHING: (("off", "on"), {}),
    ControlKind.MOMENTARY: (("released", "pressed"), {"pressed": "released"}),
    ControlKind.ROTARY: (("off", "1", "2"), {}),
    ControlKind.PULL: (("in", "pulled 1", "pulled 2"), {}),
    ControlKind.STALK: (("middle", "up", "down"), {}),
    ControlKind.KEY: (("OFF", "ACC", "ON", "START"), {"START": "ON"}),
}
"""Positions of a kind, rest first, and which spring back to which, where its file names none."""
IGNITION, CRANKS = ("ON", "START"), ("START",)


class ControlLine(Frozen):
    """One control as written."""

    name: OneLine = Field(min_length=1, max_length=30, description="what it is called in the cabin")
    kind: ControlKind = Field(description="what a hand does with it", examples=["latching", "momentary"])
    positions: tuple[OneLine, ...] = Field(
        default=(), max_length=8, description="its positions, rest first; the usual ones of its kind without"
    )
    springs: dict[str, str] = Field(
        default_factory=dict, description="positions that must be held, and where each springs back to"
    )
    outside: bool = Field(default=False, description="true: out of the seat's reach")
    harm: Harm | None = Field(
        default=None, description="what it would do to somebody; such a control is never asked for"
    )
    amps: float = Field(default=0.0, ge=0, le=100, description="what it switches away from rest, in A")

    @model_validator(mode="after")
    def _positions_exist(self) -> Self:
        names, springs = self._places()
        if len(names) < 2 or len(set(names)) < len(names):
            raise ValueError(f"'{self.name}' needs two positions at least, each with a name of its own")
        for one in (*springs, *springs.values()):
            if one not in names:
                raise ValueError(f"'{self.name}' has no position '{one}'; it has {', '.join(names)}")
        return self

    def control(self) -> CabinControl:
        """It as a hunt takes it. Raises ValueError for what no hand can hold."""
        names, springs = self._places()
        key = self.kind is ControlKind.KEY
        return CabinControl(
            id=self.name,
            kind=self.kind,
            positions=names,
            springs={names.index(held): names.index(back) for held, back in springs.items()},
            reach=Reach.OUTSIDE if self.outside else Reach.SEAT,
            harm=self.harm,
            amps=self.amps,
            ignition=tuple(names.index(one) for one in IGNITION if key and one in names),
            cranks=tuple(names.index(one) for one in CRANKS if key and one in names),
        )

    def _places(self) -> tuple[tuple[str, ...], dict[str, str]]:
        names, springs = USUAL[self.kind]
        return (self.positions, self.springs) if self.positions else (names, springs)


class Cabin(Frozen):
    """A cabin and the wire that is hunted in it."""

    cabin: str = Field(pattern=r"^[a-z0-9][a-z0-9-]{0,60}$", description="its name, the same as the file's")
    title: OneLine = Field(min_length=1, max_length=120, description="vehicle and circuit, in a line")
    source: OneLine = Field(min_length=1, max_length=200, description="where its controls are known from")
    wire: OneLine = Field(min_length=1, max_length=60, description="the wire that is hunted")
    system_v: Literal[6, 12, 24] = Field(default=12, description="volts of its system: 6, 12 or 24")
    side: Side = Field(default=Side.HIGH, description="high: it is fed when live; low: it is grounded")
    added: bool | None = Field(default=None, description="true: the circuit was added after the vehicle was made")
    points: bool = Field(default=False, description="true: points ignition, whose coil burns with the key left on")
    controls: tuple[ControlLine, ...] = Field(min_length=1, max_length=16, description="all that could work it")

    @model_validator(mode="after")
    def _controls_apart(self) -> Self:
        names = [one.name for one in self.controls]
        if twice := next((one for one in names if names.count(one) > 1), None):
            raise ValueError(f"two controls are called '{twice}'")
        for one in self.controls:
            one.control()
        return self

    def listed(self) -> tuple[CabinControl, ...]:
        """Its controls as a hunt takes them."""
        return tuple(one.control() for one in self.controls)

    def precautions(self, solenoid_off: bool) -> Precautions:
        """`solenoid_off`: somebody took the starter's solenoid wire off."""
        return Precautions(
            stops_below_v=STOP_BELOW_V * self.system_v / 12,
            points_ignition=self.points,
            solenoid_off=solenoid_off,
            added=self.added,
        )
