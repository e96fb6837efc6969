"""Parameter sets by class of part: what a specimen starts from.

Invented parts, no maker's. Resistance and voltage are usual for the class; all other figures were fitted by random
search until pull-in, drop-out, operate, release, bounce, transfer and what a diode does to the release came inside
every maker's sheet that a test holds them to. A fitted figure is one that works, not one that was measured: the parts
are not unique.
"""

from typing import Any, Literal

Base = Literal[
    "mini_12v_changeover",
    "mini_12v_normally_open",
    "mini_24v_changeover",
    "mini_24v_normally_open",
    "micro_12v_changeover",
]

_MINI_COIL = {
    "resistance_ohm": 85.0,
    "turns": 1943,
    "pole_area_mm2": 79.65,
    "residual_gap_mm": 0.02148,
    "iron_reluctance": 1.284e6,
    "saturation_t": 0.3142,
    "eddy_s": 4744,
    "leakage_mh": 4.946,
}
_MINI_ARMATURE = {
    "travel_mm": 0.7588,
    "mass_g": 1.00,
    "return_n": 1.567,
    "return_n_per_mm": 0.0496,
    "leaf_n_per_mm": 3.118,
    "contact_g": 0.2505,
    "nc_press_mm": 0.1557,
    "overtravel_mm": 0.380,
    "restitution": 0.1005,
    "contact_damping_s_per_m": 0.966,
}
_OPEN_COIL = {
    "resistance_ohm": 85.0,
    "turns": 1370,
    "pole_area_mm2": 109.0,
    "residual_gap_mm": 0.01961,
    "iron_reluctance": 1.242e6,
    "saturation_t": 0.2941,
    "eddy_s": 3807,
    "leakage_mh": 10.64,
}
_OPEN_ARMATURE = {
    "travel_mm": 0.7993,
    "mass_g": 1.00,
    "return_n": 0.6546,
    "return_n_per_mm": 0.0578,
    "leaf_n_per_mm": 3.526,
    "contact_g": 0.5765,
    "nc_press_mm": 0.0,
    "overtravel_mm": 0.4679,
    "restitution": 0.2034,
    "contact_damping_s_per_m": 0.502,
}
_MINI_CONTACTS = {"contact_no": {"bulk_mohm": 0.9}, "contact_nc": {"bulk_mohm": 1.2}}


def _of_24_v(coil: dict[str, float]) -> dict[str, float]:
    """The same iron with a winding of 350 ohm: ampere-turns at nominal as before, leakage as turns squared."""
    more = (350.0 / 24) / (coil["resistance_ohm"] / 12)
    return coil | {
        "resistance_ohm": 350.0,
        "turns": coil["turns"] * more,
        "leakage_mh": coil["leakage_mh"] * more * more,
    }


CLASSES: dict[Base, dict[str, Any]] = {
    "mini_12v_changeover": {
        "form": "C",
        "nominal_v": 12.0,
        "coil": _MINI_COIL,
        "armature": _MINI_ARMATURE,
        **_MINI_CONTACTS,
    },
    "mini_12v_normally_open": {
        "form": "A",
        "nominal_v": 12.0,
        "coil": _OPEN_COIL,
        "armature": _OPEN_ARMATURE,
        **_MINI_CONTACTS,
    },
    "mini_24v_changeover": {
        "form": "C",
        "nominal_v": 24.0,
        "coil": _of_24_v(_MINI_COIL),
        "armature": _MINI_ARMATURE,
        **_MINI_CONTACTS,
    },
    "mini_24v_normally_open": {
        "form": "A",
        "nominal_v": 24.0,
        "coil": _of_24_v(_OPEN_COIL),
        "armature": _OPEN_ARMATURE,
        **_MINI_CONTACTS,
    },
    "micro_12v_changeover": {
        "form": "C",
        "nominal_v": 12.0,
        "coil": {
            "resistance_ohm": 105.0,
            "turns": 1990,
            "pole_area_mm2": 66.37,
            "residual_gap_mm": 0.01808,
            "iron_reluctance": 1.341e6,
            "saturation_t": 0.3063,
            "eddy_s": 2404,
            "leakage_mh": 4.927,
        },
        "armature": {
            "travel_mm": 0.8515,
            "mass_g": 1.00,
            "return_n": 0.9948,
            "return_n_per_mm": 0.0486,
            "leaf_n_per_mm": 2.814,
            "contact_g": 0.2508,
            "nc_press_mm": 0.1477,
            "overtravel_mm": 0.4698,
            "restitution": 0.0579,
            "contact_damping_s_per_m": 1.492,
        },
    },
}
