"""What a garage holds to a bench: a multimeter, a thermometer, two resistors and a link, none of them perfect.

Errors are drawn from the seed within the limits below, every value alike. The limits are those of a cheap hand-held
multimeter's sheet (common practice), of ordinary resistors, and of a room thermometer (common practice).
"""

import math
from typing import Any

from pulldrop.plant.noise import Chance
from pulldrop.plant.relay.coil import copper_ohm
from pulldrop.plant.specimen import Specimen

COUNTS = 2000
"""A display of 3 1/2 digits, 0..1999."""
VOLTS_PERCENT, OHMS_PERCENT, DIGITS = 0.5, 0.8, 3
"""DC volts +-(0.5 % + 3 digits), ohms +-(0.8 % + 3 digits)."""
LEAST_VOLTS, LEAST_OHMS = 1e-4, 0.1
"""One digit of the lowest ranges."""
LEADS_OHM = (0.15, 0.35)
THERMOMETER_K = 1.0
COIL_OHM, COIL_PERCENT = 100.0, 0.1
"""A metal film resistor of 0.1 % and 0.6 W, well under a euro."""
CONTACT_OHM, CONTACT_PERCENT = 0.22, 1.0
"""A wire-wound resistor of 5 W, soldered to two blades."""
BLADES_OHM = 0.3e-3
"""What its blades add to a resistor in the socket, at most (assumed)."""
LINK_OHM, LINK_ROOM_OHM = 0.12e-3, 0.03e-3
"""A strip of copper, 6.3 by 0.8 mm, 35 mm from clip to clip: 17.2 nohm m * 35 mm / 5.04 mm2; 5 mm and a tenth of the
section either way (assumed)."""
SALT = 0x5EED


class Garage:
    """The instruments of one person; `seed` None: all of them perfect, the display's steps apart."""

    def __init__(self, seed: int | None) -> None:
        self._seed = seed
        chance = self._chance(0)
        self._volts, self._ohms = (self._within(chance, share / 100 * 0.6) for share in (VOLTS_PERCENT, OHMS_PERCENT))
        self._kelvin = self._within(chance, THERMOMETER_K)
        self.coil_ohm = COIL_OHM * (1 + self._within(chance, COIL_PERCENT / 100))
        self.contact_ohm = CONTACT_OHM * (1 + self._within(chance, CONTACT_PERCENT / 100))
        self.blades_ohm = 0.0 if seed is None else BLADES_OHM * chance.uniform()
        self.link_ohm = LINK_OHM + self._within(chance, LINK_ROOM_OHM)
        least, most = LEADS_OHM
        self.leads_ohm = 0.0 if seed is None else least + (most - least) * chance.uniform()

    def volts(self, true: float) -> float:
        """What the multimeter shows. Three fifths of its gain error are its reference's, the rest each range's own."""
        return self._shown(true, self._volts, VOLTS_PERCENT, LEAST_VOLTS)

    def ohms(self, true: float) -> float:
        """The same for a resistor between its probes, the leads included."""
        return self._shown(true + self.leads_ohm, self._ohms, OHMS_PERCENT, LEAST_OHMS)

    def celsius(self, true: float) -> float:
        """What the thermometer beside the bench shows, in tenths."""
        return round(true + self._kelvin, 1)

    def _shown(self, true: float, gain: float, percent: float, least: float) -> float:
        step = max(least, 10.0 ** math.ceil(math.log10(max(abs(true), 1e-9) / COUNTS) - 1e-9))
        chance = self._chance(1 + round(-math.log10(step)) + 16 * (least == LEAST_OHMS))
        error = gain + self._within(chance, percent / 100 * 0.4)
        # one of the digits is the display's own step
        return round(true * (1 + error) / step + self._within(chance, DIGITS - 0.5)) * step

    def _chance(self, which: int) -> Chance:
        return Chance(((self._seed or 0) * 1000003 + which) ^ SALT)

    def _within(self, chance: Chance, most: float) -> float:
        return 0.0 if self._seed is None else chance.within(most)

    # --- what goes into the socket ---

    def coil_resistor(self, temperature_c: float) -> Specimen:
        """The resistor between the coil terminals; its ohms do not change with temperature as a winding's do."""
        at_20c = self.coil_ohm * self.coil_ohm / copper_ohm(self.coil_ohm, temperature_c)
        return _thing("a resistor between the coil terminals", coil={"resistance_ohm": at_20c, "heating_k_per_w": 0.0})

    def contact_resistor(self) -> Specimen:
        """The low resistor between 30 and 87."""
        return _between_30_and_87(self.contact_ohm + self.blades_ohm)

    def link(self) -> Specimen:
        """The shorting link between 30 and 87."""
        return _between_30_and_87(self.link_ohm)

    def link_nc(self) -> Specimen:
        """The same between 30 and 87a."""
        return _thing("a link between 30 and 87a", form="C", contact_nc=_metal(self.link_ohm))


def empty() -> Specimen:
    """Nothing in the socket."""
    return _thing("empty socket", faults={"coil_open": True, "stuck": "at rest"})


def _between_30_and_87(ohm: float) -> Specimen:
    faults = {"coil_open": True, "stuck": "at rest", "welded": "contact_no", "weld_n": 1e4}
    return _thing(f"{ohm:.4g} ohm between 30 and 87", contact_no=_metal(ohm), faults=faults)


def _metal(ohm: float) -> dict[str, float]:
    return {"bulk_mohm": ohm * 1e3, "pitting_mohm": 0.0, "resistivity_nohm_m": 1e-6}


def _thing(title: str, **given: Any) -> Specimen:
    return Specimen.model_validate({"title": title, "form": "A", "faults": {"stuck": "at rest"}, **given})
