"""Parameter sets by class of part: what a specimen starts from. Invented parts, fitted so that the figures usual for
their class emerge; no set describes a part of any maker."""

from typing import Any, Literal

Base = Literal["mini_12v_changeover"]

CLASSES: dict[Base, dict[str, Any]] = {
    "mini_12v_changeover": {
        "form": "C",
        "nominal_v": 12.0,
        "coil": {
            "resistance_ohm": 85.0,
            "turns": 2200,
            "pole_area_mm2": 45.53,
            "residual_gap_mm": 0.12,
            "iron_reluctance": 2.5e6,
            "saturation_t": 0.70,
            "eddy_s": 300,
            "leakage_mh": 10,
        },
        "armature": {
            "travel_mm": 1.0,
            "mass_g": 1.0787,
            "return_n": 1.2934,
            "return_n_per_mm": 0.05,
            "leaf_n_per_mm": 2.301,
            "contact_g": 0.3121,
            "nc_press_mm": 0.2882,
            "overtravel_mm": 0.6,
            "restitution": 0.1,
            "contact_damping_s_per_m": 0.914,
        },
    },
}
