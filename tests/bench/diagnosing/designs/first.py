"""Designs of the host's own plant over the same windows, drawn by the fields of its specimens.

Its fields are spread far beyond its classes, turns and residual gap then moved until the thresholds that its physics
give are those drawn; a part whose times leave the windows is drawn again.
"""

import math
import random
from functools import cache
from typing import Any

import specimens
import truth
from pydantic import ValidationError

from designs import draw
from pulldrop.plant.relay.classes import Base
from pulldrop.plant.specimen import Specimen

TRIES = 60
SPREAD = {
    "coil": {"pole_area_mm2": 0.15, "iron_reluctance": 0.3, "saturation_t": 0.15, "eddy_s": 0.4, "leakage_mh": 0.4},
    "armature": {
        "travel_mm": 0.15, "mass_g": 0.25, "return_n": 0.3, "return_n_per_mm": 0.3, "leaf_n_per_mm": 0.2,
        "contact_g": 0.2, "overtravel_mm": 0.15, "nc_press_mm": 0.15, "contact_damping_s_per_m": 0.4,
    },
}  # fmt: skip
"""Standard deviation of the logarithm of each field."""
PART_SPREAD = {
    "coil": {"resistance_ohm": 0.02, "residual_gap_mm": 0.06, "eddy_s": 0.05},
    "armature": {"return_n": 0.04, "return_n_per_mm": 0.04, "travel_mm": 0.01, "contact_damping_s_per_m": 0.1},
}
BASES = specimens.BASES
GAP_MM = (0.01, 0.3)
LETS_GO = 0.01
"""Of nominal: a part whose drop-out is below it stays operated with its coil off."""


def specimen(seed: int, number: int, width: float, changeover: bool, sibling: int = 0) -> tuple[Base, Specimen]:
    """A part of a fresh design that meets every limit of its class; `sibling` above 0: another part of that design.

    Raises RuntimeError after many tries.
    """
    base, design, part = _design(seed, number, width, changeover)
    if not sibling:
        return base, Specimen.model_validate(part)
    chance = random.Random(f"sibling {sibling}:{seed}:{number}:{width}")
    for _ in range(TRIES):
        part = _part_of(design | _own(base, chance), chance)
        if _sound(part, 2 * width):
            return base, Specimen.model_validate(part)
    raise RuntimeError(f"no sound sibling in {TRIES} tries: seed {seed}, number {number}, width {width}")


@cache
def _design(seed: int, number: int, width: float, changeover: bool) -> tuple[Base, dict[str, Any], dict[str, Any]]:
    """The design, and the first part of it."""
    chance = random.Random(f"first:{seed}:{number}:{width}")
    base = chance.choice([one for one in BASES if "changeover" in one or not changeover])
    for _ in range(TRIES):
        given = specimens.specimen(base, chance).model_dump()
        for piece, spread in SPREAD.items():
            _vary(given[piece], spread, width, chance)
        given["coil"]["resistance_ohm"] = draw.COIL_OHM[given["nominal_v"]].drawn(chance)
        for throw in ("contact_no", "contact_nc"):
            given[throw]["pitting_mohm"] = min(given[throw]["pitting_mohm"], 2.0)
        if _solved(given, width, chance) and _sound(given, width):
            part = _part_of(given, chance)
            if _sound(part, 2 * width):
                return base, given, part
    raise RuntimeError(f"no design within the windows in {TRIES} tries: seed {seed}, number {number}, width {width}")


def _part_of(design: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    part = design | {piece: dict(design[piece]) for piece in PART_SPREAD}
    for piece, spread in PART_SPREAD.items():
        _vary(part[piece], spread, 1.0, chance)
    return part


def _own(base: Base, chance: random.Random) -> dict[str, Any]:
    """What a part does not share with its design: its contacts' wear and its room."""
    drawn = specimens.specimen(base, chance).model_dump()
    own = {key: drawn[key] for key in ("contact_no", "contact_nc", "temperature_c")}
    for throw in ("contact_no", "contact_nc"):
        own[throw]["pitting_mohm"] = min(own[throw]["pitting_mohm"], 2.0)
    return own


def _vary(fields: dict[str, Any], spread: dict[str, float], width: float, chance: random.Random) -> None:
    for name, sd in spread.items():
        fields[name] *= math.exp(chance.gauss(0, sd * width))


def _bare(given: dict[str, Any]) -> Specimen:
    """At 20 degC, with nothing across its coil."""
    return Specimen.model_validate(given | {"temperature_c": 20.0, "suppression": {"kind": "none"}})


def _levels(given: dict[str, Any]) -> tuple[float, float] | None:
    """Pull-in and drop-out as shares of nominal; None for a part that has none, or whose fields no relay has."""
    nominal_v = given["nominal_v"]
    try:
        found = truth.thresholds(_bare(given), nominal_v)
    except (AssertionError, ValidationError):
        return None
    return found["pull_in_voltage"] / nominal_v, found["drop_out_voltage"] / nominal_v


def held(part: Specimen) -> Specimen:
    """The part with so much left in its iron that it stays operated; of many designs what holds a class does not.

    Raises RuntimeError after many tries.
    """
    given = part.model_dump()
    for _ in range(TRIES):
        levels = _levels(given)
        if levels is None or levels[1] < LETS_GO:
            return Specimen.model_validate(given)
        given["coil"]["residual_mmf_a"] *= 1.05
    raise RuntimeError("it lets go whatever its iron keeps")


def _solved(given: dict[str, Any], width: float, chance: random.Random) -> bool:
    """Turns for the drawn pull-in, which it falls with; residual gap for the drawn drop-out, which rises with it."""
    pull_in, drop_out = (window.at(width).drawn(chance) for window in (draw.PULL_IN, draw.DROP_OUT))
    for _ in range(3):
        levels = _levels(given)
        if levels is None or not 0.02 < levels[0] < 1.4 or levels[1] < 0.02:
            return False
        given["coil"]["turns"] *= levels[0] / pull_in
        gap = given["coil"]["residual_gap_mm"] * (drop_out / levels[1] * levels[0] / pull_in) ** 1.3
        given["coil"]["residual_gap_mm"] = min(max(gap, GAP_MM[0]), GAP_MM[1])
    return True


def _sound(given: dict[str, Any], width: float) -> bool:
    """Whether thresholds and times lie in the windows, and meet the limits with room to spare."""
    levels = _levels(given)
    if levels is None or levels[0] not in draw.PULL_IN.at(width) or levels[1] not in draw.DROP_OUT.at(width):
        return False
    limits, spare = draw.LIMITS, 1 - draw.MARGIN
    if levels[0] > limits["pull_in"] * spare or levels[1] < limits["drop_out"] * (2 - spare):
        return False
    ohm, coil = given["coil"]["resistance_ohm"], draw.COIL_OHM[given["nominal_v"]]
    if not coil.low * 1.02 <= ohm <= coil.high * 0.98:
        return False
    try:
        found = truth.times(_bare(given), given["nominal_v"], moves=1)
    except (AssertionError, IndexError):
        return False
    within = all(found[id] in window.at(width) for id, window in draw.TIMES.items() if found.get(id))
    limit = all(found.get(id, 0.0) < limits.get(id, limits["bounce"]) * spare for id in draw.TIMES)
    return within and limit
