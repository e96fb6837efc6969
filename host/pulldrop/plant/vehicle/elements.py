"""The elements of a vehicle's circuit, as its file names them, each with the amps that it takes at given volts.

Rule: an element knows its own two nodes and its law, nothing of the circuit; what time or a control changes comes in a
`Moment`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field

from pulldrop.plant.pair.filament import Filament
from pulldrop.plant.pair.fuse import cold_mohm
from pulldrop.plant.shape import Shape

CABLE_OHM_MM2_PER_M = 0.0195
"""Highest resistance of a flexible conductor of 1 mm2 at 20 degC (IEC 60228, class 5, plain copper: 19.5 mohm/m); the
standard's other sizes from 0.5 to 10 mm2 lie within 4 % of it."""
LAMP_K = 2650.0
"""Of a vehicle's filament at rated volts: hot over cold 14 (Forsythe and Worthing 1925)."""
VACUUM_W, VACUUM, GAS = 6.0, 0.055, 0.15
"""Up to so many watts a lamp has no gas (assumed); shares of its power that leads, or gas and leads, take then."""
OPEN_S = 1e-12
"""What is open still passes this, in siemens."""
THERMAL_V = 0.0258520
"""kT/q at 300 K."""
RISES_AT_MOST = 40.0
"""Beyond this exponent a diode's law goes on straight, so that no step of the solver overflows."""


Words = Annotated[tuple[str, ...], BeforeValidator(lambda given: tuple(given) if isinstance(given, list) else given)]
"""Words of a file's list: YAML has lists alone."""


@dataclass(frozen=True)
class Moment:
    """When a circuit is looked at: seconds since its controls were last moved, and the position of each control."""

    time_s: float = 0.0
    positions: Mapping[str, str] = field(default_factory=dict)


class Element(Shape):
    """Anything between two nodes. `name` is unique in its circuit."""

    name: str = Field(min_length=1, max_length=60, description="what a person calls it")
    a: str = Field(min_length=1, description="node")
    b: str = Field(min_length=1, description="node")

    def law(self, volts: float, at: Moment) -> tuple[float, float]:
        """Amps from `a` to `b` with `volts` between them, and how they change with the volts, in siemens."""
        siemens = 1 / self.ohm_at(at)
        return volts * siemens, siemens

    def ohm_at(self, at: Moment) -> float:
        """Of an element that is a resistance. A law that bends overrides `law` instead."""
        raise NotImplementedError(type(self).__name__)


class Ohmic(Element):
    """A joint, a coil, a resistor, an insulation: `ohm` alone."""

    kind: Literal["joint", "coil", "resistor", "leak"]
    ohm: float = Field(gt=0, le=1e9)

    def ohm_at(self, at: Moment) -> float:
        return self.ohm


class Cable(Element):
    """A wire by length and cross-section; `broken`: open. `corroded_ohm` comes on top, such as a green splice."""

    kind: Literal["cable"]
    metre: float = Field(gt=0, le=100)
    mm2: float = Field(ge=0.2, le=120)
    corroded_ohm: float = Field(default=0.0, ge=0, le=1e9)
    broken: bool = False

    def ohm_at(self, at: Moment) -> float:
        return 1 / OPEN_S if self.broken else self.metre * CABLE_OHM_MM2_PER_M / self.mm2 + self.corroded_ohm


class Fuse(Element):
    """A regular blade fuse by its rated amps, cold, with `clips_ohm` of its holder."""

    kind: Literal["fuse"]
    rated_a: float = Field(gt=0, le=500)
    clips_ohm: float = Field(default=1e-3, ge=0, le=1e6)
    blown: bool = False

    def ohm_at(self, at: Moment) -> float:
        return 1 / OPEN_S if self.blown else cold_mohm("regular", self.rated_a) * 1e-3 + self.clips_ohm


class Contact(Element):
    """Closed while `control` stands in one of `closed_in`; `dead`: never."""

    kind: Literal["contact"]
    control: str = Field(min_length=1)
    closed_in: Words = Field(min_length=1, description="positions")
    ohm: float = Field(default=5e-3, gt=0, le=1e9)
    dead: bool = False

    def ohm_at(self, at: Moment) -> float:
        closed = not self.dead and at.positions.get(self.control) in self.closed_in
        return self.ohm if closed else 1 / OPEN_S


class Lamp(Element):
    """A filament by its rated watts and volts, at rest: the circuit is looked at after it warmed."""

    kind: Literal["lamp"]
    watts: float = Field(gt=0, le=500)
    volts: float = Field(gt=0, le=48)
    burnt_out: bool = False

    @property
    def filament(self) -> Filament:
        """Its physics."""
        return _filament(self.volts, self.watts)

    def law(self, volts: float, at: Moment) -> tuple[float, float]:
        return (volts * OPEN_S, OPEN_S) if self.burnt_out else self.filament.law(volts)


@lru_cache(maxsize=256)
def _filament(volts: float, watts: float) -> Filament:
    return Filament(volts, watts / volts, LAMP_K, VACUUM if watts <= VACUUM_W else GAS)


class Diode(Element):
    """From `a` to `b`: saturation amps and emission coefficient of Shockley's law, with `ohm` in series left out."""

    kind: Literal["diode", "led"]
    saturation_a: float = Field(default=1e-9, gt=0, le=1e-3)
    emission: float = Field(default=1.8, ge=1, le=12, description="an LED with its resistor apart: about 2 to 4")
    lost: bool = False

    def law(self, volts: float, at: Moment) -> tuple[float, float]:
        if self.lost:
            return volts * OPEN_S, OPEN_S
        unit = self.emission * THERMAL_V
        place = volts / unit
        if place > RISES_AT_MOST:
            top = self.saturation_a * math.exp(RISES_AT_MOST)
            return top * (1 + place - RISES_AT_MOST) - self.saturation_a + volts * OPEN_S, top / unit + OPEN_S
        rise = self.saturation_a * math.exp(place)
        return rise - self.saturation_a + volts * OPEN_S, rise / unit + OPEN_S


class Output(Element):
    """A module's output from its feed `a` to the wire `b`: `ohm` while on, at most `most_a`; else only the trickle by
    which it looks for its lamp. With `hz`, on for `duty` of each period. `control`: on in these positions alone."""

    kind: Literal["output"]
    ohm: float = Field(default=0.05, gt=0, le=1e6)
    most_a: float = Field(gt=0, le=100)
    trickle_ohm: float = Field(default=10e3, gt=0, le=1e9)
    control: str = ""
    closed_in: Words = ()
    hz: float = Field(default=0.0, ge=0, le=1000)
    duty: float = Field(default=1.0, gt=0, le=1)
    dead: bool = False

    def on(self, at: Moment) -> bool:
        """Whether it drives at this moment."""
        if self.dead or (self.control and at.positions.get(self.control) not in self.closed_in):
            return False
        return not self.hz or (at.time_s * self.hz) % 1.0 < self.duty

    def law(self, volts: float, at: Moment) -> tuple[float, float]:
        if not self.on(at):
            return volts / self.trickle_ohm, 1 / self.trickle_ohm
        amps = volts / self.ohm
        if amps <= self.most_a:
            return amps, 1 / self.ohm
        return self.most_a + (volts - self.most_a * self.ohm) * OPEN_S, OPEN_S


class Battery(Element):
    """From its plus `a` to its minus `b`: volts at rest behind its own ohms."""

    kind: Literal["battery"]
    volts: float = Field(gt=0, le=48)
    ohm: float = Field(default=0.01, gt=0, le=100)

    def law(self, volts: float, at: Moment) -> tuple[float, float]:
        return (volts - self.volts) / self.ohm, 1 / self.ohm


AnyElement = Annotated[Ohmic | Cable | Fuse | Contact | Lamp | Diode | Output | Battery, Discriminator("kind")]
