"""Ohms of one contact: Holm's constriction under its force, metal in series, wear that scatters, and a film."""

from math import exp, pi, sqrt

from designs.second.design import Surface
from pulldrop.plant.relay.contact import Heat, Touch

LEAST_N = 2e-3
"""Below this no spot is made worth the name; the constriction is that of this force."""
PER_K = 0.0035
"""Rise of metal's resistance (silver and copper 0.0038 to 0.0039, leaf springs less; from memory)."""


class Contact:
    """What the bench asks of a throw's contact."""

    def __init__(self, surface: Surface) -> None:
        self.surface = surface

    @property
    def film_rubs_off(self) -> bool:
        """Whether the second touch finds no film any more."""
        return self.surface.film_rubs_off

    @property
    def shifts(self) -> bool:
        """Whether every load finds it touching on other spots; none of these is loose."""
        return False

    def ohm(self, newton: float, made: Touch, _amps: float = 0.0, rise_k: float = 0.0) -> float:
        """Ohms of one make, whatever flows; `rise_k`: of its metal by the load."""
        s = self.surface
        touch = constriction(s, newton) + s.used_ohm * exp(s.scatter * made.draw)
        film = s.film_ohm if made.film == "whole" else 0.0
        return (s.metal_ohm + touch) * (1 + PER_K * rise_k) + film

    def film_breaks(self, amps: float) -> bool:
        """Whether so much current breaks the film (fritting: it takes volts, and a source that can feed it)."""
        s = self.surface
        return s.film_ohm > 0 and amps >= s.film_a and amps * s.film_ohm >= s.film_v

    def film_burns(self, _amps: float) -> bool:
        """A film that broke never comes back."""
        return True

    def rise_k(self, rise_k: float, heat: Heat, seconds: float) -> float:
        """Kelvin after so long at so much heat."""
        s = self.surface
        end = heat.watts * s.kelvin_per_w
        return end + (rise_k - end) * exp(-seconds / s.warm_s)


def constriction(surface: Surface, newton: float) -> float:
    """Holm: each of n spots carries F / n on an area F / (n H); rho / (2 a) of n spots in parallel."""
    force = max(newton, LEAST_N)
    radius = sqrt(force / surface.spots / (pi * surface.hardness))
    return surface.resistivity / (2 * radius * surface.spots)
