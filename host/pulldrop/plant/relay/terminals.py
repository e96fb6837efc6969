"""The part as a network between its terminals, as it lies in the socket at one moment, for a few mA.

Rule: nothing here moves or heats. At the scan's current no armature stirs; a film stays whole here, though the scan's
5 V would break a thin one of some kilohms.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from pydantic import Field, field_validator

from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import FORMS, NC, NO, TWIN, Form
from pulldrop.plant.network import Diode, Element, Resistor
from pulldrop.plant.relay.suppression import Suppression
from pulldrop.plant.shape import Shape

JUNCTION_V, JUNCTION_OHM = 0.52, 15.0
"""A 1N4007 between 1 and 10 mA as a straight line: about 0.55 and 0.66 V (data sheets, typical curve; from memory)."""
POLARISED_V = (0.6, 1.0)
"""Volts that water between two metals takes before it conducts, either way round (assumed): it reads differently."""
NAMES = ("30", "85", "86", "87", "87a")
BRIDGE_OHM = 1e-3
"""Between the two blades 87 of a twin part (assumed)."""


class Leak(Shape):
    """A path that should not be there, between two terminals."""

    between: Pair = Field(description="two terminals, such as '30-87'")
    ohm: float = Field(gt=0, le=1e9, description="resistance of the path")
    kind: Literal["track", "water"] = Field(default="track", description="carbon track, or water, which polarises")

    @field_validator("between")
    @classmethod
    def _two_terminals(cls, between: Pair) -> Pair:
        if not {between.a, between.b} <= set(NAMES):
            raise ValueError(f"'{between}' names no two terminals; expected such as '30-87', of {', '.join(NAMES)}")
        return between

    def elements(self) -> list[Element]:
        """The path as a network."""
        a, b = self.between.a, self.between.b
        if self.kind == "track":
            return [Resistor(a, b, self.ohm)]
        return [Diode(a, b, POLARISED_V[0], self.ohm), Diode(b, a, POLARISED_V[1], self.ohm)]


def coil(winding_ohm: float, suppression: Suppression) -> list[Element]:
    """86 to 85: the winding, and what is across it; a zener does not conduct at 5 V, either way."""
    plus = "inside" if suppression.kind == "series_diode" else "86"
    elements: list[Element] = [Resistor(plus, "85", winding_ohm)]
    if suppression.kind == "resistor":
        elements.append(Resistor(plus, "85", suppression.resistor_ohm))
    elif suppression.kind in ("diode", "series_diode"):
        elements.append(_diode("85", plus, suppression.reversed))
    if suppression.kind == "series_diode":
        elements.append(_diode("86", plus, suppression.reversed))
    return elements


@dataclass(frozen=True, slots=True)
class Blades:
    """Whether a part has the blades 87 and 87a, and a second 87 in the place of 87a that is joined to the first."""

    no: bool
    nc: bool
    twin: bool


@cache
def blades(form: Form) -> Blades:
    """Of a contact form."""
    pairs = FORMS[form].pairs
    return Blades(no=NO in pairs, nc=NC in pairs, twin=TWIN in pairs)


def contacts(form: Form, closed: tuple[float | None, float | None]) -> list[Element]:
    """30 to 87 and to 87a; `closed` has the ohms of the throws that touch, NO first. What a form lacks stays out."""
    no, nc = closed
    has = blades(form)
    elements: list[Element] = []
    if no is not None and has.no:
        elements.append(Resistor("87", "30", no))
    if nc is not None and has.nc:
        elements.append(Resistor("87a", "30", nc))
    if has.twin:
        elements.append(Resistor("87", "87a", BRIDGE_OHM))
    return elements


def exchanged(elements: list[Element]) -> list[Element]:
    """The same part of the layout in which 30 and 86 have changed places, by the numbers of the socket."""

    def place(name: str) -> str:
        return {"30": "86", "86": "30"}.get(name, name)

    return [
        replace(one, a=place(one.a), b=place(one.b))
        if isinstance(one, Resistor)
        else replace(one, anode=place(one.anode), cathode=place(one.cathode))
        for one in elements
    ]


def _diode(anode: str, cathode: str, reversed: bool) -> Diode:
    anode, cathode = (cathode, anode) if reversed else (anode, cathode)
    return Diode(anode, cathode, JUNCTION_V, JUNCTION_OHM)
