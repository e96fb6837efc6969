"""Temperature of the winding: copper's law, and heat through two bodies to the room."""

from math import exp

from designs.second.design import Winding

INFERRED_C = 234.5
"""Copper's resistance goes as its temperature above this much below zero (IEC 60028)."""


def copper_ohm(ohm_20: float, celsius: float) -> float:
    """Ohms of a copper winding."""
    return ohm_20 * (INFERRED_C + celsius) / (INFERRED_C + 20)


def warmed(winding: Winding, room_c: float, near_c: float, far_c: float, watts: float, s: float) -> tuple[float, float]:
    """Winding and the body around it after `s` seconds at `watts`; good to 1 % of a rise for steps up to 1 s.

    The winding follows the body about it exactly, the body what it gets from the winding at the step's middle.
    """
    end = far_c + watts * winding.near_k
    near = end + (near_c - end) * exp(-s / (winding.near_j * winding.near_k))
    gets = ((near_c + near) / 2 - far_c) / winding.near_k
    rest = room_c + gets * winding.far_k
    return near, rest + (far_c - rest) * exp(-s / (winding.far_j * winding.far_k))
