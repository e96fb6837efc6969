"""Random virtual relays, the same from the same seed: class parameters varied as parts of one class differ.

All invented. The spreads are assumed: what winding, springs, iron and contacts of used parts may differ by.
"""

import math
import random
from typing import Any

from pulldrop.plant.relay.classes import CLASSES, Base
from pulldrop.plant.specimen import Specimen

RATINGS: dict[Base, str] = {
    "mini_12v_changeover": "class-mini-12v-form-c",
    "micro_12v_changeover": "class-mini-12v-form-c",
    "mini_12v_normally_open": "class-mini-12v-form-a",
    "mini_24v_changeover": "class-mini-24v-form-c",
}
"""What a part of each class is tested against."""
BASES: tuple[Base, ...] = tuple(RATINGS)
SHARES = (4, 2, 2, 2)
COIL_SPREAD = {"resistance_ohm": 0.08, "residual_gap_mm": 0.2, "iron_reluctance": 0.1, "eddy_s": 0.2, "leakage_mh": 0.2}
ARMATURE_SPREAD = {
    "travel_mm": 0.04,
    "mass_g": 0.1,
    "return_n": 0.15,
    "return_n_per_mm": 0.15,
    "leaf_n_per_mm": 0.1,
    "contact_g": 0.1,
    "overtravel_mm": 0.08,
    "contact_damping_s_per_m": 0.2,
}
"""Half-widths, as a share of the class's figure, every value in between alike."""
SUPPRESSION = ("none", "none", "none", "resistor", "diode", "diode_zener")


def specimen(base: Base, chance: random.Random) -> Specimen:
    """One sound part of a class, at a temperature that a workshop may have."""
    coil = _varied(CLASSES[base]["coil"], COIL_SPREAD, chance)
    coil["heating_k_per_w"] = chance.uniform(15, 40)
    armature = _varied(CLASSES[base]["armature"], ARMATURE_SPREAD, chance)
    armature["friction_n"] = 0.02 * math.exp(chance.gauss(0, 0.3))
    armature["friction_scatter"] = chance.uniform(0.15, 0.4)
    kind = chance.choice(SUPPRESSION)
    factor = 4 if base == "mini_24v_changeover" else 1
    return Specimen.model_validate(
        {
            "title": f"invented part of class {base}",
            "base": base,
            "temperature_c": chance.uniform(15, 30),
            "coil": coil,
            "armature": armature,
            "suppression": {"kind": kind, "resistor_ohm": 680.0 * factor, "zener_v": 24.0},
            "contact_no": _contact(chance),
            "contact_nc": _contact(chance),
        }
    )


def _varied(figures: dict[str, Any], spread: dict[str, float], chance: random.Random) -> dict[str, Any]:
    varied = dict(figures)
    for name, share in spread.items():
        varied[name] = figures[name] * (1 + chance.uniform(-share, share))
    return varied


def _contact(chance: random.Random) -> dict[str, float]:
    """From a contact as new to a worn one: 0.1 to 2 mohm of used surface; a burnt one scatters beyond any goal."""
    return {
        "bulk_mohm": chance.uniform(0.8, 3.0),
        "pitting_mohm": math.exp(chance.uniform(math.log(0.1), math.log(2.0))),
        "pitting_scatter": chance.uniform(0.1, 0.3),
    }
