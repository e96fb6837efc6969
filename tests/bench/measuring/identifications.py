"""Random virtual parts of every kind that a look can meet, each with the truth that it is held to. All invented."""

import random
from dataclasses import dataclass

import specimens

from pulldrop.model.part.identification import Layout, Suppressor, Winding
from pulldrop.model.part.relay import Form
from pulldrop.plant.relay.classes import Base
from pulldrop.plant.specimen import Specimen

KINDS: dict[str, Suppressor] = {
    "none": "none",
    "resistor": "resistor",
    "diode": "diode",
    "diode_zener": "zener",
    "series_diode": "series diode",
}
WINDINGS: tuple[Winding, ...] = ("whole", "whole", "whole", "whole", "open", "open behind its resistor", "shorted")
CONTACTS = ("sound", "sound", "sound", "welded", "dead NC", "filmed NC")
RESISTORS_OHM = {12.0: (180.0, 330.0, 470.0, 680.0, 1000.0), 24.0: (680.0, 1200.0, 2200.0, 2700.0)}
"""Values that are put across coils of vehicle relays (common practice)."""
ZENERS_V = (15.0, 18.0, 24.0, 27.0, 33.0)


@dataclass(frozen=True)
class Truth:
    """What a part is. `reversed`: its diodes are the wrong way round; `contacts`: what became of them."""

    form: Form
    layout: Layout
    winding: Winding
    volts: float
    kind: Suppressor
    reversed: bool
    ohm: float
    zener_v: float
    contacts: str

    @property
    def harmful(self) -> bool:
        """Energised on a full bench it would be damaged, or would damage the bench."""
        short = self.winding == "shorted" or (self.reversed and self.kind == "diode")
        return self.layout == "exchanged" or short

    def blank(self, bare: bool) -> bool:
        """Nothing that the bench can look at conducts at rest: not to be told from an empty socket."""
        closed = (self.form in ("B", "C") and self.contacts != "dead NC") or self.contacts == "welded"
        blocked = self.winding == "open" and self.kind != "diode"
        unseen = self.layout == "exchanged" and self.kind == "series diode" and not self.reversed and not bare
        return (blocked or unseen) and not closed and self.form != "twin"


def draw(chance: random.Random) -> tuple[Specimen, Truth]:
    """One part."""
    base: Base = chance.choice((*specimens.BASES, "mini_24v_normally_open"))
    volts = 24.0 if "24v" in base else 12.0
    form = chance.choice(("A", "twin") if "open" in base else ("B", "C", "C", "C"))
    layout: Layout = "exchanged" if chance.random() < 0.15 else "usual"
    winding = chance.choice(WINDINGS)
    plant_kind = _kind(winding, chance)
    kind = KINDS[plant_kind]
    reversed = kind in ("diode", "series diode") and winding == "whole" and chance.random() < 0.25
    ohm = chance.uniform(0.5, 6.0) if winding == "shorted" else chance.choice(RESISTORS_OHM[volts])
    ohm = max(ohm, 560.0) if winding == "open behind its resistor" else ohm
    zener_v = chance.choice(ZENERS_V)
    contacts = chance.choice(CONTACTS) if form != "B" else "sound"
    sound = specimens.specimen(base if base in specimens.BASES else "mini_24v_changeover", chance).model_dump()
    given = sound | {
        "base": base,
        "form": form,
        "layout": layout,
        "nominal_v": volts,
        "suppression": {"kind": plant_kind, "reversed": reversed, "resistor_ohm": ohm, "zener_v": zener_v},
    }
    if base not in specimens.BASES:
        for key in ("coil", "armature"):
            del given[key]
    welded = {"welded": "contact_no"} if contacts == "welded" else {}
    given["faults"] = {"coil_open": winding.startswith("open"), **welded}
    if contacts in ("dead NC", "filmed NC"):
        film_ohm = 1e6 if contacts == "dead NC" else chance.uniform(5, 200)
        given["contact_nc"] = {"film_ohm": film_ohm, "film_breaks_v": 30.0}
    truth = Truth(form, layout, winding, volts, kind, reversed, ohm, zener_v, contacts)
    return Specimen.model_validate(given), truth


def _kind(winding: Winding, chance: random.Random) -> str:
    if winding in ("open behind its resistor", "shorted"):
        return "resistor"
    if winding == "open":
        return chance.choice(("none", "diode"))
    return chance.choice(tuple(KINDS))
