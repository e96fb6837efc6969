"""Controls that a person can operate while a wire is watched, and what is never asked of them.

Rule: position 0 is rest. A held position springs back as soon as the hand leaves it.
"""

from collections.abc import Sequence
from enum import StrEnum

from pydantic import Field, model_validator

from pulldrop.model.raw import Frozen


class ControlKind(StrEnum):
    LATCHING = "latching"
    MOMENTARY = "momentary"
    ROTARY = "rotary"
    KEY = "key"
    STALK = "stalk"
    PULL = "pull"


class Reach(StrEnum):
    """Where a person stands to operate it."""

    SEAT = "seat"
    OUTSIDE = "outside"


class Harm(StrEnum):
    """Why a control is never asked for: what it would do."""

    MOVES = "moves"
    HEATS = "heats"
    PUMPS = "pumps"
    BRAKES = "brakes"


class CabinControl(Frozen):
    """One control.

    `springs`: for each held position the one that it springs back to. `amps`: what it switches away from rest, the
    caller's figure. `ignition`, `cranks`: positions of a key that feed the ignition, and that turn the engine.
    """

    id: str = Field(min_length=1)
    kind: ControlKind
    positions: tuple[str, ...] = Field(min_length=2, max_length=8)
    springs: dict[int, int] = Field(default_factory=dict)
    reach: Reach = Reach.SEAT
    harm: Harm | None = None
    amps: float = Field(default=0.0, ge=0)
    ignition: tuple[int, ...] = ()
    cranks: tuple[int, ...] = ()

    @model_validator(mode="after")
    def _positions_exist(self) -> "CabinControl":
        known = range(len(self.positions))
        named = (*self.springs, *self.springs.values(), *self.ignition, *self.cranks)
        if any(position not in known for position in named):
            raise ValueError(f"{self.id}: a position that the control does not have")
        if 0 in self.springs or any(to in self.springs for to in self.springs.values()):
            raise ValueError(f"{self.id}: a held position must spring back to one that stays")
        return self


class Precautions(Frozen):
    """What the person has said of the vehicle before the first step.

    `stops_below_v`: no further step with less of the battery at rest (11.8 V of 12, a practitioner's limit).
    `points_ignition`: its coil burns with the key on and the engine still. `solenoid_off`: the starter cannot turn.
    `added`: the wire was added after the vehicle was made, None where nobody knows.
    """

    stops_below_v: float = Field(default=11.8, gt=0)
    points_ignition: bool = False
    solenoid_off: bool = False
    added: bool | None = None


def latching(name: str, *, reach: Reach = Reach.SEAT, harm: Harm | None = None, amps: float = 0.0) -> CabinControl:
    """A switch that stays where it is put."""
    return CabinControl(
        id=name, kind=ControlKind.LATCHING, positions=("off", "on"), reach=reach, harm=harm, amps=amps
    )  # fmt: skip


def momentary(name: str, *, reach: Reach = Reach.SEAT, harm: Harm | None = None, amps: float = 0.0) -> CabinControl:
    """A push that has to be held."""
    return CabinControl(
        id=name,
        kind=ControlKind.MOMENTARY,
        positions=("released", "pressed"),
        springs={1: 0},
        reach=reach,
        harm=harm,
        amps=amps,
    )


def rotary(name: str, positions: Sequence[str], *, reach: Reach = Reach.SEAT) -> CabinControl:
    """A switch of several places; the first is off."""
    return CabinControl(id=name, kind=ControlKind.ROTARY, positions=tuple(positions), reach=reach)


def pull(name: str, detents: int, *, reach: Reach = Reach.SEAT) -> CabinControl:
    """A pull switch: in, and one place for each detent."""
    return CabinControl(
        id=name, kind=ControlKind.PULL, positions=("in", *(f"pulled {i + 1}" for i in range(detents))), reach=reach
    )  # fmt: skip


def stalk(name: str, stays: Sequence[str], sprung: Sequence[str] = ()) -> CabinControl:
    """A stalk with places that stay and places that spring back to its middle."""
    places = ("middle", *stays, *sprung)
    held = range(1 + len(stays), len(places))
    return CabinControl(id=name, kind=ControlKind.STALK, positions=places, springs=dict.fromkeys(held, 0))


def key(name: str = "key") -> CabinControl:
    """An ignition key with a spring behind START."""
    return CabinControl(
        id=name,
        kind=ControlKind.KEY,
        positions=("OFF", "ACC", "ON", "START"),
        springs={3: 2},
        ignition=(2, 3),
        cranks=(3,),
    )
