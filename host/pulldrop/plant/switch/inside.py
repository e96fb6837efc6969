"""What is built into a switch beside its contacts: a lamp, a diode, the resistors of a ladder."""

from dataclasses import replace
from typing import Literal

from pydantic import Field

from pulldrop.model.part.pair import Pair
from pulldrop.plant.network import Diode, Element, Resistor
from pulldrop.plant.pair.filament import Filament
from pulldrop.plant.pair.junction import RED, SILICON, WHITE
from pulldrop.plant.shape import Shape

LOOK_A = 2e-3
"""What flows in it when it is looked at."""
JUNCTIONS = {"red led": RED, "white led": WHITE, "diode": SILICON}


class Inside(Shape):
    """One part between two terminals, or points inside; of a LED or diode the first of `between` is its anode."""

    between: Pair = Field(description="two terminals, such as '58-31'")
    kind: Literal["filament", "red led", "white led", "diode", "resistor"] = Field(description="what it is")
    volts: float = Field(default=12.0, gt=0, le=48, description="rated volts of a filament")
    watts: float = Field(default=1.2, gt=0, le=100, description="rated watts of a filament")
    ohm: float = Field(default=680.0, gt=0, le=1e7, description="of a resistor, or in series with a LED")
    hot_k: float = Field(default=2300.0, ge=1500, le=3400, description="kelvin of a filament at rated volts (assumed)")

    def element(self) -> Element:
        """As a few mA find it: a filament cold."""
        a, b = self.between.a, self.between.b
        if self.kind == "filament":
            return Resistor(a, b, Filament(self.volts, self.watts / self.volts, self.hot_k).cold_ohm)
        if self.kind == "resistor":
            return Resistor(a, b, self.ohm)
        series_ohm = 0.0 if self.kind == "diode" else self.ohm
        junction = JUNCTIONS[self.kind]
        return replace(junction, series_ohm=junction.series_ohm + series_ohm).line(a, b, LOOK_A)


def live(terminal: str, volts: float) -> Diode:
    """A terminal that is still on the vehicle's plus: a source of some volts behind half an ohm of wire (assumed)."""
    return Diode("gnd", terminal, -volts, 0.5)
