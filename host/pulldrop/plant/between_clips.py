"""A part with two terminals in the bench's socket, at 30 and 87: its element, which warms, and how its blades touch.

Rule: to the bench it is a throw that is always closed and a coil that is open.
"""

import math
from functools import lru_cache
from typing import Any, Protocol

from pulldrop.plant.pair.filament import AIR_K, Filament
from pulldrop.plant.pair.fuse import AIR_C, MELTS_C, Fuse
from pulldrop.plant.relay.contact import ContactModel, Heat, Touch, hot_ohm, squeezed_ohm
from pulldrop.plant.specimen import Specimen

FIRST_S, GROWS = 0.25e-3, 0.02
"""Steps in which a temperature is worked out: the first, and by which share of the time so far later ones grow."""
OPEN_OHM = 1e9


class Element(Protocol):
    """What lies between the blades; `rise_k`: how much warmer it is than the room."""

    def ohm(self, rise_k: float) -> float:
        """Its resistance."""

    def warmed(self, rise_k: float, heat: Heat, seconds: float) -> float:
        """Its rise after a time."""


class Plain:
    """Ohms that do not change."""

    def __init__(self, ohm: float) -> None:
        self._ohm = ohm

    def ohm(self, _rise_k: float) -> float:
        """See `Element`."""
        return self._ohm

    def warmed(self, rise_k: float, _heat: Heat, _seconds: float) -> float:
        """See `Element`."""
        return rise_k


class FuseElement:
    """`factor`: its ohms over the typical ones."""

    def __init__(self, fuse: Fuse, factor: float) -> None:
        self._fuse, self._factor = fuse, factor

    def ohm(self, rise_k: float) -> float:
        """See `Element`; a molten one is open while it is so warm."""
        celsius = AIR_C + rise_k
        return OPEN_OHM if celsius > MELTS_C else self._fuse.ohm(celsius) * self._factor

    def warmed(self, rise_k: float, heat: Heat, seconds: float) -> float:
        """See `Element`; its ohms are small beside those that the load comes through."""
        amps = heat.volts / (heat.ohm + self.ohm(rise_k))
        return self._fuse.warmed(AIR_C + rise_k, amps, seconds) - AIR_C


class FilamentElement:
    """A filament from the room's temperature on."""

    def __init__(self, filament: Filament) -> None:
        self._filament = filament

    def ohm(self, rise_k: float) -> float:
        """See `Element`."""
        return self._filament.ohm(AIR_K + rise_k)

    def warmed(self, rise_k: float, heat: Heat, seconds: float) -> float:
        """See `Element`; along a straight line between the steps."""
        if not rise_k and not heat.volts:
            return 0.0
        course = _course(self._filament, rise_k, heat.volts, heat.ohm, heat.most_v)
        return course.at(seconds)


class Course:
    """A filament's rise by time, worked out as far as anybody has asked."""

    def __init__(self, filament: Filament, rise_k: float, volts: float, ohm: float, most_v: float) -> None:
        self._filament, self._feed = filament, (volts, ohm)
        self._most_v = most_v
        self._times, self._rises = [0.0], [rise_k]

    def at(self, seconds: float) -> float:
        """Kelvin above the room."""
        times, rises = self._times, self._rises
        while times[-1] < seconds:
            step = max(FIRST_S, GROWS * times[-1])
            kelvin = self._filament.warmed(AIR_K + rises[-1], *self._feed, step, self._most_v)
            times.append(times[-1] + step)
            rises.append(kelvin - AIR_K)
        low, high = 0, len(times) - 1
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if times[middle] <= seconds else (low, middle)
        if high == low:
            return rises[low]
        share = (seconds - times[low]) / (times[high] - times[low])
        return rises[low] + share * (rises[high] - rises[low])


@lru_cache(maxsize=32)
def _course(filament: Filament, rise_k: float, volts: float, ohm: float, most_v: float) -> Course:
    return Course(filament, rise_k, volts, ohm, most_v)


class Blades(ContactModel):
    """A part's blades in their clips, and its element behind them: film and crust of the blades, as of a relay's
    contact, and a crack in it whose edges touch on other spots with every load."""

    element: Any
    crack_mohm: float = 0.0

    def ohm(self, _force_n: float, touch: Touch, amps: float = 0.0, rise_k: float = 0.0) -> float:
        """See `ContactModel`."""
        scatter = 1e-3 * math.exp(self.pitting_scatter * touch.draw)
        film = self.film_ohm if touch.film == "whole" else 0.0
        bridge = self.film_ohm if touch.film == "bridged" else 0.0
        if bridge and (most_a := max(amps, touch.carried_a)):
            bridge = hot_ohm(squeezed_ohm(bridge, most_a, touch.draw), amps)
        crack = self.crack_mohm * scatter
        element: float = self.element.ohm(rise_k)
        return element + crack + self.crust_mohm * 1e-3 + bridge + film

    def rise_k(self, from_k: float, heat: Heat, seconds: float) -> float:
        """See `ContactModel`."""
        warmed: float = self.element.warmed(from_k, heat, seconds)
        return warmed

    @property
    def shifts(self) -> bool:
        """See `ContactModel`."""
        return self.crack_mohm > 0


class InSocket(Specimen):
    """A part between 30 and 87, for a bench that asks for a relay: an open coil, and NO never opens."""

    blades: Any
    odd: tuple[str, ...] = ()
    """What is wrong with it."""

    @property
    def contacts(self) -> tuple[ContactModel, ContactModel]:
        """See `Specimen`."""
        return self.blades, self.contact_nc
