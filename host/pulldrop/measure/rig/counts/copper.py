"""The copper law: a coil's resistance, and with it its pull-in voltage, at another temperature.

R2 / R1 = (234.5 + T2) / (234.5 + T1). IEC 60028 gives copper 0.00393/K at 20 degC, which makes it 234.45. Rounded, two
conventions: 234.5 in relay makers' notes (and IEEE 112, from memory), 235 in IEC 60034-1 (from memory). We keep the
first; at 85 degC the second reads 0.04 % less.
"""

import math
from typing import Any

from pulldrop.measure.rig.counts.budget import rectangular

INFERRED_ZERO_C = 234.5
REFERENCE_C = 20.0
CARRIED_IN_K, LEVELS_S, RESTED_S = 25.0, 900.0, 3600.0
"""By how much a winding may differ from the bench as it is carried in: from a yard at -5 degC into a room at 20; the
time constant with which a closed relay comes to the room (both assumed); how long a part is taken to have lain there
when nobody says so, which leaves 0.5 K."""


def factor(from_c: Any, to_c: Any) -> Any:
    """R(to_c) / R(from_c) of a copper winding; temperatures in degC, plain or with uncertainty."""
    return (INFERRED_ZERO_C + to_c) / (INFERRED_ZERO_C + from_c)


def at_20c(value: Any, measured_c: Any) -> Any:
    """Resistance (ohm) or pull-in voltage (V) measured at `measured_c`, for a coil at 20 degC."""
    return value * factor(measured_c, REFERENCE_C)


def winding_k(rested_s: float | None) -> Any:
    """Zero kelvin, known to what a winding may still be off the bench after it has lain beside it for so long."""
    waited = RESTED_S if rested_s is None else rested_s
    why = (
        f"it lay here for {waited / 60:.0f} min, as {'is assumed where nobody says' if rested_s is None else 'stated'}"
    )
    return rectangular(CARRIED_IN_K * math.exp(-waited / LEVELS_S), "winding not as warm as the bench", why, "warmth")


def rise_k(cold_ohm: float, hot_ohm: float, cold_c: float, ambient_c: float, zero_c: float = INFERRED_ZERO_C) -> float:
    """Temperature rise in kelvin over `ambient_c` of a winding, from its resistance cold and hot.

    The method of IEC 60034-1, whose own `zero_c` is 235.
    """
    return (hot_ohm - cold_ohm) / cold_ohm * (zero_c + cold_c) + cold_c - ambient_c
