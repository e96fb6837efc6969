"""Settings of the armature's start and strike."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep


class MotionStep(HeldStep):
    """Start and strike of the armature over `makes` at `coil` volts, from the coil current; no contact is asked."""

    title: ClassVar[str] = "armature motion"
    gives: ClassVar[tuple[str, ...]] = ("armature_start_time", "armature_seat_time")

    measure: Literal["motion"]
    makes: int = Field(default=5, ge=3, le=100, description="how many makes, 3 to 100")
