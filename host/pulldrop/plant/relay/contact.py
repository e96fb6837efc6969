"""Electrical contacts: constriction after Holm, film that breaks down, pitting that scatters, metal in series."""

import math

from pydantic import Field

from pulldrop.plant.shape import Shape

LEAST_FORCE_N = 1e-3
"""Below this force the constriction is taken as at this force: a first touch is not an infinite resistance."""

METAL_PER_K = 0.0039
"""Copper and silver both gain about 0.4 % of their resistance per kelvin (tables of physics, from memory)."""


def spot_radius_m(force_n: float, hardness_pa: float) -> float:
    """Radius of the one round spot that carries `force_n` in plastic contact (Holm): F = pi a^2 H."""
    return math.sqrt(force_n / (math.pi * hardness_pa))


def constriction_ohm(resistivity_ohm_m: float, radius_m: float) -> float:
    """Resistance of a round spot between two equal bodies (Holm): rho / (2 a)."""
    return resistivity_ohm_m / (2 * radius_m)


class ContactModel(Shape):
    """One throw. Force comes from the moving parts; these are the surfaces and the metal in series."""

    bulk_mohm: float = Field(default=1.5, ge=0, le=1e6, description="blades, rivets and leaf in series (assumed)")
    hardness_mpa: float = Field(default=800.0, gt=0, le=1e5, description="of the contact metal (Ag alloy, assumed)")
    resistivity_nohm_m: float = Field(
        default=23.0, gt=0, le=1e5, description="of the contact metal (silver 15.9; AgSnO2 about 23, from memory)"
    )
    film_ohm: float = Field(default=0.0, ge=0, le=1e7, description="film in series until it breaks down")
    film_breaks_v: float = Field(default=0.2, ge=0, le=1000, description="volts across the film that break it")
    film_breaks_a: float = Field(default=0.05, ge=0, le=1000, description="and the current that must flow as well")
    film_rubs_off: bool = Field(default=False, description="the second touch finds no film any more")
    pitting_mohm: float = Field(default=0.4, ge=0, le=1e7, description="used surface, middle value of the makes")
    pitting_scatter: float = Field(
        default=0.3, ge=0, le=3, description="scatter from make to make, standard deviation of the logarithm"
    )
    heating_k_per_w: float = Field(
        default=20.0, ge=0, le=1e4, description="rise of leaf and blades per watt in the throw (assumed)"
    )
    heating_s: float = Field(default=8.0, gt=0, le=1e5, description="time constant of that rise (assumed)")

    def ohm(self, force_n: float, film_broken: bool, draw: float, rise_k: float = 0.0) -> float:
        """Resistance between the throw's terminals at one force; `draw` is this make's normal deviate."""
        radius = spot_radius_m(max(force_n, LEAST_FORCE_N), self.hardness_mpa * 1e6)
        pitted = self.pitting_mohm * 1e-3 * math.exp(self.pitting_scatter * draw)
        film = 0.0 if film_broken else self.film_ohm
        metal = constriction_ohm(self.resistivity_nohm_m * 1e-9, radius) + self.bulk_mohm * 1e-3 + pitted
        return metal * (1 + METAL_PER_K * rise_k) + film

    def rise_k(self, from_k: float, watts: float, seconds: float) -> float:
        """Kelvin above the air after a time at one power."""
        to = watts * self.heating_k_per_w
        return to + (from_k - to) * math.exp(-seconds / self.heating_s)

    def film_breaks(self, amps: float) -> bool:
        """Whether `amps` through the whole film break it down."""
        return amps >= self.film_breaks_a and amps * self.film_ohm >= self.film_breaks_v
