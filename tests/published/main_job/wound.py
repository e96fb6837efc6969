"""Virtual parts wound to a published sheet, and brought to where one of their true values is wanted.

A sheet gives ohms and volts; the class of part gives iron and springs, and with them the ampere-turns at which it pulls
in. So ohms and a pull-in voltage make the turns. A low drop-out takes slack springs, a contact drop metal in series, a
late operate time flux outside the iron and mass, a late release a weak return spring and eddy currents. What is true of
a part comes from the plant (tests/bench/truth.py).
"""

import math
from functools import cache

import numpy as np
import yaml
from sheets import Sheet
from truth import coil, drops, thresholds, times

from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.plant.relay.classes import CLASSES, Base
from pulldrop.plant.specimen import Specimen

TYPICAL = 0.8
"""Pull-in of a part as its maker means it, over the most that the sheet allows (assumed)."""
WITHOUT_FIGURE = 0.5
"""Of nominal, where the sheet names no pull-in (assumed)."""
LATE_SPRING = 0.35
"""What is left of the return spring of a part that lets go late; alone it is not late enough."""
SLACK = (0.12, 0.2, 0.35, 0.6, 1.0)
"""Shares that all springs are left with, over which ampere-turns of pull-in and drop-out are known (logarithmic)."""
STIFF_SPRING = 1.4
"""Of a part with a suppressor that operates late: without it mass would make its release late as well."""
OUTSIDE, MASS, MOST_MASS = 0.5, 0.8, 15.0
"""Powers of a slow part's factor by which the flux outside its iron, and its mass, grow; the mass up to this factor."""
NEAR, TRIES = 1e-4, 25
"""A time is sought to this share of it; more tries than that would mean that it does not follow its factor."""
TIMED_BY = {"operate_time": "slow", "release_time": "eddy"}
SPRINGS = ("return_n", "return_n_per_mm", "leaf_n_per_mm")


@cache
def ampere_turns(base: Base, slack: float = 1.0) -> tuple[float, float]:
    """At which a class of part pulls in and drops out, whatever its winding, with this share of its springs."""
    armature = {name: CLASSES[base]["armature"][name] * slack for name in SPRINGS}
    part = Specimen.model_validate({"title": "invented", "base": base, "temperature_c": 20.0, "armature": armature})
    true = thresholds(part, part.nominal_v)
    per_volt = part.coil.turns / part.coil.resistance_ohm
    return true["pull_in_voltage"] * per_volt, true["drop_out_voltage"] * per_volt


def slack_for(base: Base, drop_out_a: float) -> float:
    """The share of its springs with which a class of part drops out at these ampere-turns."""
    known = np.log([ampere_turns(base, slack)[1] for slack in SLACK])
    course = np.polyfit(known, np.log(SLACK), len(SLACK) - 1)
    return float(np.exp(np.polyval(course, math.log(drop_out_a))))


def wound(sheet: Sheet, suppressor: str = "", celsius: float = 20.0, **at: float) -> Specimen:
    """A part of the sheet's type, typical unless `at` says where a value shall be.

    At 20 degC `coil_ohm` of the terminals, `pull_in_v`, `drop_out_v`; `slow`, `eddy` and `return_spring` as factors on
    the class's figures; `no_mohm` and `nc_mohm` of metal in series.
    """
    rating, kind, plain = sheet.rating, suppressor or sheet.suppressor, CLASSES[sheet.base]
    assert rating.coil_resistance
    winding = wire_ohm(at.get("coil_ohm", rating.coil_resistance), kind, sheet.resistor_ohm)
    typical_v = TYPICAL * rating.pull_in_most if rating.pull_in_most else WITHOUT_FIGURE * rating.nominal
    turns = winding * ampere_turns(sheet.base)[0] / at.get("pull_in_v", typical_v)
    iron, slow = plain["coil"], at.get("slow", 1.0)
    slack = slack_for(sheet.base, at["drop_out_v"] * turns / winding) if "drop_out_v" in at else 1.0
    springs = {name: plain["armature"][name] * slack for name in SPRINGS}
    springs["return_n"] *= at.get("return_spring", 1.0)
    return Specimen.model_validate(
        {
            "title": f"invented part wound to a sheet: {rating.rating}",
            "base": sheet.base,
            "temperature_c": celsius,
            "coil": {
                "resistance_ohm": winding,
                "turns": turns,
                "leakage_mh": iron["leakage_mh"] * (turns / iron["turns"]) ** 2 * slow**OUTSIDE,
                "eddy_s": iron["eddy_s"] * at.get("eddy", 1.0),
            },
            "armature": springs | {"mass_g": plain["armature"]["mass_g"] * min(slow**MASS, MOST_MASS)},
            "suppression": {"kind": kind, "resistor_ohm": sheet.resistor_ohm},
            "contact_no": {"bulk_mohm": at["no_mohm"]} if "no_mohm" in at else {},
            "contact_nc": {"bulk_mohm": at["nc_mohm"]} if "nc_mohm" in at else {},
        }
    )


def wire_ohm(terminal_ohm: float, kind: str, resistor_ohm: float) -> float:
    """Of the winding alone, from what the terminals show with a resistor beside it."""
    return 1 / (1 / terminal_ohm - 1 / resistor_ohm) if kind == "resistor" else terminal_ohm


def as_virtual(part: Specimen) -> VirtualPart:
    """The part as a job takes it, with its text."""
    return VirtualPart(part, yaml.safe_dump(part.model_dump(mode="json", exclude_none=True), sort_keys=False))


def true_value(part: Specimen, id: str, load_a: float) -> float:
    """Of one measurement, times at nominal volts."""
    if id.startswith("coil"):
        return coil(part, part.nominal_v)[id]
    if id.endswith("_time"):
        return times(part, part.nominal_v, moves=1)[id]
    if id.startswith("contact_drop"):
        return drops(part, part.nominal_v, load_a)[id]
    return thresholds(part, part.nominal_v)[id]


def placed(sheet: Sheet, id: str, wanted: float, load_a: float, coil_share: float = 1.0) -> Specimen:
    """A part of the sheet's type whose true value of one measurement is `wanted`.

    `coil_share`: of the sheet's ohms, so that like parts meet the steps of the bench at other places.
    """
    ohm, diode = (sheet.rating.coil_resistance or 0.0) * coil_share, sheet.suppressor == "diode"
    bare = sheet.suppressor == "none"
    match id:
        case "coil_resistance_20c":
            return wound(sheet, coil_ohm=wanted)
        case "pull_in_voltage_20c":
            return wound(sheet, coil_ohm=ohm, pull_in_v=wanted)
        case "drop_out_voltage":
            return wound(sheet, coil_ohm=ohm, drop_out_v=wanted)
        case "operate_time":
            return _timed(sheet, id, wanted, coil_ohm=ohm, return_spring=1.0 if bare else STIFF_SPRING)
        case "release_time":
            return _timed(sheet, id, wanted, coil_ohm=ohm, return_spring=1.0 if diode else LATE_SPRING)
    metal = "no_mohm" if id == "contact_drop_no" else "nc_mohm"
    bare = true_value(wound(sheet, **{metal: 0.0}), id, load_a)
    return wound(sheet, coil_ohm=ohm, **{metal: 1e3 * (wanted - bare) / load_a})


def _timed(sheet: Sheet, id: str, wanted: float, **at: float) -> Specimen:
    """By secants on the logarithm of the factor that the time grows with."""

    def made(log_factor: float) -> tuple[Specimen, float]:
        part = wound(sheet, **at, **{TIMED_BY[id]: math.exp(log_factor)})
        return part, true_value(part, id, 0.0) - wanted

    before, now = 0.0, 1.0
    (_, missed_before), (part, missed) = made(before), made(now)
    for _ in range(TRIES):
        if abs(missed) < NEAR * wanted:
            return part
        step = missed * (now - before) / (missed - missed_before)
        before, missed_before = now, missed
        now -= max(-1.0, min(step, 1.0))
        part, missed = made(now)
    raise AssertionError(f"{sheet.name}: no part with {id} of {wanted:.6f} s was found")
