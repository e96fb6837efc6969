"""The shape of one virtual fuse, lamp, diode or resistor."""

from typing import Literal

from pydantic import Field

from pulldrop.plant.shape import KindSpecimen


class TwoTerminalSpecimen(KindSpecimen):
    """A part with two terminals; `ohm` cold, of a diode in its forward direction beyond its knee."""

    kind: Literal["two-terminal"] = Field(description="kind of part")
    component: Literal["fuse", "lamp", "diode", "resistor"] = Field(description="fuse, lamp, diode or resistor")
    ohm: float = Field(gt=0, le=1e9, description="resistance, cold")
    open: bool = Field(default=False, description="blown, burnt out or broken")


SPECIMEN = TwoTerminalSpecimen
