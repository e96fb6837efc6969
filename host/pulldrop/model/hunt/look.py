"""What the bench saw of the wire at one moment of a hunt."""

from enum import StrEnum

from pydantic import Field

from pulldrop.model.raw import Frozen


class WireLevel(StrEnum):
    """Each is a level of its own; PULSED is one that changes by itself, dimmed or flashing."""

    OPEN = "open"
    WEAK = "weak"
    LOW = "low"
    ON = "on"
    PULSED = "pulsed"
    GROUND = "ground"


class Side(StrEnum):
    """Which end of the load the wire switches."""

    HIGH = "high"
    LOW = "low"


ACTS = {
    Side.HIGH: frozenset({WireLevel.LOW, WireLevel.ON, WireLevel.PULSED}),
    Side.LOW: frozenset({WireLevel.GROUND, WireLevel.PULSED}),
}
"""Levels at which a relay may work; WEAK is a trickle, as another lamp's filament lets through."""


class WireLook(Frozen):
    """The level once the wire had settled. `rose_s`, `fell_s`: how long after the move it came on, or went off."""

    level: WireLevel
    rose_s: float | None = Field(default=None, ge=0)
    fell_s: float | None = Field(default=None, ge=0)
    battery_v: float | None = None
