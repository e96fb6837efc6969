"""Parameter sets by class of part: what a specimen starts from.

Invented parts, no maker's. Resistance and voltage are usual for the class; all other figures were fitted by random
search, so that pull-in, drop-out, operate, release, bounce and transfer come out as is usual for the class
(makers' sheets: pull-in 50 to 65 % of nominal, operate 3 to 7 ms, release about 2 ms with a high clamp and 5 to 10
with a diode). A fitted figure is one that works, not one that was measured: the parts are not unique.
"""

from typing import Any, Literal

Base = Literal["mini_12v_changeover", "mini_12v_normally_open", "mini_24v_changeover", "micro_12v_changeover"]

_MINI_COIL = {
    "resistance_ohm": 85.0,
    "turns": 1877,
    "pole_area_mm2": 74.5,
    "residual_gap_mm": 0.0235,
    "iron_reluctance": 1.474e6,
    "saturation_t": 0.300,
    "eddy_s": 5228,
    "leakage_mh": 5.0,
}
_MINI_ARMATURE = {
    "travel_mm": 0.90,
    "mass_g": 1.00,
    "return_n": 1.30,
    "return_n_per_mm": 0.053,
    "leaf_n_per_mm": 3.03,
    "contact_g": 0.222,
    "nc_press_mm": 0.178,
    "overtravel_mm": 0.39,
    "restitution": 0.094,
    "contact_damping_s_per_m": 0.89,
}

CLASSES: dict[Base, dict[str, Any]] = {
    "mini_12v_changeover": {"form": "C", "nominal_v": 12.0, "coil": _MINI_COIL, "armature": _MINI_ARMATURE},
    "mini_12v_normally_open": {
        "form": "A",
        "nominal_v": 12.0,
        "coil": {
            "resistance_ohm": 85.0,
            "turns": 1460,
            "pole_area_mm2": 89.6,
            "residual_gap_mm": 0.0208,
            "iron_reluctance": 1.402e6,
            "saturation_t": 0.304,
            "eddy_s": 3522,
            "leakage_mh": 10.1,
        },
        "armature": {
            "travel_mm": 1.004,
            "mass_g": 1.00,
            "return_n": 0.541,
            "return_n_per_mm": 0.0545,
            "leaf_n_per_mm": 3.44,
            "contact_g": 0.448,
            "nc_press_mm": 0.0,
            "overtravel_mm": 0.584,
            "restitution": 0.163,
            "contact_damping_s_per_m": 0.511,
        },
    },
    # the same iron with another winding: ampere-turns at nominal as before, so turns as the square root of ohms
    # times what the voltage asks, and leakage as turns squared
    "mini_24v_changeover": {
        "form": "C",
        "nominal_v": 24.0,
        "coil": {**_MINI_COIL, "resistance_ohm": 350.0, "turns": 3865, "leakage_mh": 21.2},
        "armature": _MINI_ARMATURE,
    },
    "micro_12v_changeover": {
        "form": "C",
        "nominal_v": 12.0,
        "coil": {
            "resistance_ohm": 105.0,
            "turns": 2099,
            "pole_area_mm2": 55.0,
            "residual_gap_mm": 0.0200,
            "iron_reluctance": 1.450e6,
            "saturation_t": 0.300,
            "eddy_s": 2693,
            "leakage_mh": 5.0,
        },
        "armature": {
            "travel_mm": 0.90,
            "mass_g": 1.00,
            "return_n": 0.899,
            "return_n_per_mm": 0.050,
            "leaf_n_per_mm": 2.71,
            "contact_g": 0.200,
            "nc_press_mm": 0.130,
            "overtravel_mm": 0.438,
            "restitution": 0.055,
            "contact_damping_s_per_m": 1.75,
        },
    },
}
