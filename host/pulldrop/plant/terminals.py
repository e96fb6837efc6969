"""The part as a network between its terminals, as it lies in the socket at one moment, for a few mA.

Rule: nothing here moves or heats; at the scan's current no armature stirs and no film breaks.
"""

from typing import Literal

from pydantic import Field, field_validator

from pulldrop.plant.network import Diode, Element, Resistor
from pulldrop.plant.shape import Shape
from pulldrop.plant.suppression import Suppression

JUNCTION_V, JUNCTION_OHM = 0.52, 15.0
"""A 1N4007 between 1 and 10 mA as a straight line: about 0.55 and 0.66 V (data sheets, typical curve; from memory)."""
POLARISED_V = (0.6, 1.0)
"""Volts that water between two metals takes before it conducts, either way round (assumed): it reads differently."""
NAMES = ("30", "85", "86", "87", "87a")


class Leak(Shape):
    """A path that should not be there, between two terminals."""

    between: str = Field(description="two terminals, such as '30-87'")
    ohm: float = Field(gt=0, le=1e9, description="resistance of the path")
    kind: Literal["track", "water"] = Field(default="track", description="carbon track, or water, which polarises")

    @field_validator("between")
    @classmethod
    def _two_terminals(cls, between: str) -> str:
        ends = between.split("-")
        if len(ends) != 2 or ends[0] == ends[1] or not set(ends) <= set(NAMES):
            raise ValueError(f"'{between}' names no two terminals; expected such as '30-87', of {', '.join(NAMES)}")
        return between

    def elements(self) -> list[Element]:
        """The path as a network."""
        a, b = self.between.split("-")
        if self.kind == "track":
            return [Resistor(a, b, self.ohm)]
        return [Diode(a, b, POLARISED_V[0], self.ohm), Diode(b, a, POLARISED_V[1], self.ohm)]


def coil(winding_ohm: float, suppression: Suppression) -> list[Element]:
    """86 to 85: the winding, and what is across it; a zener does not conduct at 5 V, either way."""
    elements: list[Element] = [Resistor("86", "85", winding_ohm)]
    if suppression.kind == "resistor":
        elements.append(Resistor("86", "85", suppression.resistor_ohm))
    elif suppression.kind == "diode":
        anode, cathode = ("86", "85") if suppression.reversed else ("85", "86")
        elements.append(Diode(anode, cathode, JUNCTION_V, JUNCTION_OHM))
    return elements
