"""Electrical contacts: metal spots after Holm that warm, soften and melt; films that frit; crust; metal in series.

Rule: whatever lies in metal spots is subject to their heat. Slag or scale that is thicker than a spot is wide, and the
metal of blades and rivets, stay ohmic.
"""

import math
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from pulldrop.plant.shape import Shape

LEAST_FORCE_N = 1e-3
"""Below this force the constriction is taken as at this force: a first touch is not an infinite resistance."""

METAL_PER_K = 0.0039
"""Copper and silver both gain about 0.4 % of their resistance per kelvin (tables of physics, from memory)."""

LORENZ, ROOM_K = 2.44e-8, 293.0
"""Heat and charge conducted alike, V2/K2 (Wiedemann and Franz, Sommerfeld's value); the air around."""
SPOT_V = 2 * math.sqrt(LORENZ) * ROOM_K
"""Volts across a spot that warm its middle to sqrt(2) times the room, in kelvin."""
SOFTENS_V, MELTS_V = 0.09, 0.37
"""Across a spot of silver (Holm, Electric Contacts, from memory)."""
COLD_SOFT_V, COLD_MELT_V = (SPOT_V * math.atan(volts / SPOT_V) for volts in (SOFTENS_V, MELTS_V))
"""The same as cold ohms times amps."""
HEAT_FROM_V = 1e-3
"""Below this a spot's own heat changes its ohms by less than 0.01 %."""


def spot_radius_m(force_n: float, hardness_pa: float) -> float:
    """Radius of the one round spot that carries `force_n` in plastic contact (Holm): F = pi a^2 H."""
    return math.sqrt(force_n / (math.pi * hardness_pa))


def constriction_ohm(resistivity_ohm_m: float, radius_m: float) -> float:
    """Resistance of a round spot between two equal bodies (Holm): rho / (2 a)."""
    return resistivity_ohm_m / (2 * radius_m)


def spot_k(volts: float, around_k: float = ROOM_K) -> float:
    """Kelvin of a spot's middle (Kohlrausch): T^2 = T0^2 + V^2 / 4 L."""
    return math.sqrt(around_k**2 + volts**2 / (4 * LORENZ))


def hot_ohm(cold_ohm: float, amps: float) -> float:
    """A spot's ohms while it carries `amps`, which warm it (Kohlrausch): V = a tan(I R / a), a = SPOT_V."""
    cold_v = cold_ohm * amps
    return cold_ohm if cold_v < HEAT_FROM_V else SPOT_V * math.tan(cold_v / SPOT_V) / amps


def squeezed_ohm(ohm: float, amps: float, draw: float) -> float:
    """A spot's ohms, cold, once it has carried `amps`: softened metal gives way, and molten metal spreads.

    Hardness falls between the two volts until about a tenth is left (assumed). A spot that melts spreads until less
    than MELTS_V is left across it; where it freezes differs from make to make, by `draw` (assumed: from SOFTENS_V on,
    every value alike).
    """
    cold_v = ohm * amps
    if cold_v <= COLD_SOFT_V:
        return ohm
    if cold_v < MELTS_V:
        share = (cold_v - COLD_SOFT_V) / (MELTS_V - COLD_SOFT_V)
        return (COLD_SOFT_V + share * (COLD_MELT_V - COLD_SOFT_V)) / amps
    rank = 0.5 * (1 + math.erf(draw / math.sqrt(2)))
    return SPOT_V * math.atan((SOFTENS_V + rank * (MELTS_V - SOFTENS_V)) / SPOT_V) / amps


@dataclass(frozen=True, slots=True)
class Touch:
    """What one make has become. draw: normal deviate of its spots; film: whole, bridged by metal in this make alone, or
    gone for good; carried_a: the most amps that it has carried."""

    draw: float = 0.0
    film: Literal["whole", "bridged", "gone"] = "whole"
    carried_a: float = 0.0


@dataclass(frozen=True, slots=True)
class Heat:
    """What heats a throw: watts in it as the load was last changed; the volts behind `ohm` that drive them, of which
    no more than `most_v` come to lie across it."""

    watts: float = 0.0
    volts: float = 0.0
    ohm: float = 1.0
    most_v: float = math.inf


class ContactModel(Shape):
    """One throw. Force comes from the moving parts; these are the surfaces and the metal in series."""

    bulk_mohm: float = Field(default=1.5, ge=0, le=1e6, description="blades, rivets and leaf in series (assumed)")
    hardness_mpa: float = Field(default=800.0, gt=0, le=1e5, description="of the contact metal (Ag alloy, assumed)")
    resistivity_nohm_m: float = Field(
        default=23.0, gt=0, le=1e5, description="of the contact metal (silver 15.9; AgSnO2 about 23, from memory)"
    )
    film_ohm: float = Field(default=0.0, ge=0, le=1e7, description="film in series until it breaks down")
    film_breaks_v: float = Field(
        default=0.2, ge=0, le=1000, description="volts across the film that break it: a metal bridge, for this make"
    )
    film_burns_a: float = Field(
        default=0.05, ge=0, le=1000, description="amps through that bridge that burn the film off for good (assumed)"
    )
    film_rubs_off: bool = Field(default=False, description="the second touch finds no film any more")
    pitting_mohm: float = Field(
        default=0.4, ge=0, le=1e7, description="small metal spots of a used surface, unloaded; middle of the makes"
    )
    crust_mohm: float = Field(
        default=0.0, ge=0, le=1e7, description="slag and oxide of a burnt surface, so thick that it stays ohmic"
    )
    pitting_scatter: float = Field(
        default=0.3, ge=0, le=3, description="scatter of both from make to make, standard deviation of the logarithm"
    )
    heating_k_per_w: float = Field(
        default=20.0, ge=0, le=1e4, description="rise of leaf and blades per watt in the throw (assumed)"
    )
    heating_s: float = Field(default=8.0, gt=0, le=1e5, description="time constant of that rise (assumed)")

    def ohm(self, force_n: float, touch: Touch, amps: float = 0.0, rise_k: float = 0.0) -> float:
        """Resistance between the throw's terminals at one force while it carries `amps`."""
        radius = spot_radius_m(max(force_n, LEAST_FORCE_N), self.hardness_mpa * 1e6)
        scatter = 1e-3 * math.exp(self.pitting_scatter * touch.draw)
        spot = constriction_ohm(self.resistivity_nohm_m * 1e-9, radius) + self.pitting_mohm * scatter
        film = self.film_ohm if touch.film == "whole" else 0.0
        if touch.film == "bridged":
            spot += self.film_ohm
        if most_a := max(amps, touch.carried_a):
            spot = hot_ohm(squeezed_ohm(spot, most_a, touch.draw), amps)
        return (spot + self.bulk_mohm * 1e-3 + self.crust_mohm * scatter) * (1 + METAL_PER_K * rise_k) + film

    def rise_k(self, from_k: float, heat: Heat, seconds: float) -> float:
        """Kelvin above the air after a time at one power."""
        to = heat.watts * self.heating_k_per_w
        return to + (from_k - to) * math.exp(-seconds / self.heating_s)

    @property
    def shifts(self) -> bool:
        """Whether every load finds it touching on other spots."""
        return False

    def film_breaks(self, amps: float) -> bool:
        """Whether `amps` through the whole film put the volts across it that break it."""
        return self.film_ohm > 0 and amps * self.film_ohm >= self.film_breaks_v

    def film_burns(self, amps: float) -> bool:
        """Whether `amps` through the bridge of a broken film burn it off."""
        return amps >= self.film_burns_a
