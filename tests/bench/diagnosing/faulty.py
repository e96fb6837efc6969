"""Random virtual parts with a named fault of a named severity: sound parts of a class, one thing (or two) changed.

All invented. Severity 0 is a fault that a mechanic would just call one, 2 is past mending. What a severity means in
numbers stands here and nowhere else; the rules of the diagnosis do not know it.
"""

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import specimens

from pulldrop.plant.relay.classes import Base
from pulldrop.plant.specimen import Specimen

SHEETS: dict[Base, str] = {
    "mini_12v_changeover": "depot-mini-12v-form-c",
    "micro_12v_changeover": "depot-micro-12v-form-c",
    "mini_12v_normally_open": "depot-mini-12v-form-a",
    "mini_24v_changeover": "depot-mini-24v-form-c",
}
DEPTHS = {"opens_hot": "soak", "held_magnetised": "reversed"}
"""The protocol that shows a fault, by the end of its name; every other one shows in `-diagnose`."""
SOUND_DEPTHS = ("soak", "reversed", *("diagnose",) * 18)
"""Of sound parts one in twenty goes through each of those, in turn: they too must name nothing."""
CHANGEOVER: tuple[Base, ...] = ("mini_12v_changeover", "micro_12v_changeover", "mini_24v_changeover")
SEVERITIES = (0, 1, 2)
STANDS_V = 30.0
"""Across a film that no volts of the bench break: at 0.1 V/nm (from memory) it is 0.3 um thick."""
SOUND_MOHM = 5.0
"""Used surface of a sound contact, at most: with metal and constriction below 100 mV at 10 A (grade B)."""
Change = dict[str, Any]
Make = Callable[[int, random.Random], Change]


def protocol(faults: tuple[str, ...], number: int) -> str:
    """The protocol that a part with these faults is tested by."""
    depths = [DEPTHS[fault] for fault in faults if fault in DEPTHS] or ["diagnose"]
    return f"relay-{depths[0] if faults else SOUND_DEPTHS[number % len(SOUND_DEPTHS)]}"


def sheet(base: Base) -> str:
    """Path of the invented sheet of a class."""
    return str(Path(__file__).parent / "sheets" / f"{SHEETS[base]}.yaml")


def _one_of(values: tuple[float, float, float], wide: float) -> Callable[[int, random.Random], float]:
    """The severity's figure, give or take a share."""
    return lambda severity, chance: values[severity] * chance.uniform(1 - wide, 1 + wide)


def _burnt(throw: str) -> Make:
    """Slag, which stays ohmic, and small spots of metal, which 10 A soften or melt; in any proportion."""
    mohm = _one_of((22.0, 45.0, 110.0), 0.2)

    def make(severity: int, chance: random.Random) -> Change:
        whole, slag = mohm(severity, chance), chance.uniform(0.0, 1.0)
        surface = {"crust_mohm": slag * whole, "pitting_mohm": (1 - slag) * whole}
        return {throw: {**surface, "pitting_scatter": chance.uniform(0.3, 0.5)}}

    return make


def _film(throw: str) -> Make:
    ohm = _one_of((0.4, 2.0, 12.0), 0.4)
    return lambda s, c: {throw: {"film_ohm": ohm(s, c), "film_breaks_v": 0.1}}


def _skin(throw: str) -> Make:
    """What no volts of the bench break and the first touch rubs off."""
    ohm = _one_of((0.5, 10.0, 1e6), 0.4)
    return lambda s, c: {throw: {"film_ohm": ohm(s, c), "film_breaks_v": STANDS_V, "film_rubs_off": True}}


def _dead(throw: str) -> Make:
    ohm = _one_of((4.0, 15.0, 60.0), 0.3)
    return lambda s, c: {throw: {"film_ohm": ohm(s, c), "film_breaks_v": STANDS_V}}


def _blade(severity: int, chance: random.Random) -> Change:
    more = _one_of((16.0, 30.0, 60.0), 0.2)(severity, chance)
    return {
        throw: {"bulk_mohm": more * chance.uniform(0.95, 1.05), "pitting_mohm": 0.4}
        for throw in ("contact_no", "contact_nc")
    }


def _terminal(throw: str) -> Make:
    """Metal in series with one throw; steady, because it is no contact."""
    more = _one_of((16.0, 30.0, 60.0), 0.2)
    return lambda s, c: {throw: {"bulk_mohm": more(s, c), "pitting_mohm": 0.4}}


def _thin(severity: int, chance: random.Random) -> Change:
    """Blades and leaf with too little metal: more resistance, and less to warm."""
    kelvin = _one_of((80.0, 140.0, 250.0), 0.15)(severity, chance)
    return {"contact_no": {"bulk_mohm": chance.uniform(4.0, 7.0), "heating_k_per_w": kelvin, "heating_s": 3.0}}


def _leak(between: str) -> Make:
    ohm = _one_of((600e3, 100e3, 15e3), 0.3)
    return lambda s, c: {
        "faults": {"leaks": [{"between": between, "ohm": ohm(s, c), "kind": c.choice(("track", "water"))}]}
    }


def _fault(name: str, values: tuple[float, float, float], wide: float = 0.1) -> Make:
    amount = _one_of(values, wide)
    return lambda s, c: {"faults": {name: amount(s, c)}}


def _winding(name: str, values: tuple[float, float, float]) -> Make:
    """A change of the winding; without a resistor across it, which would hide a part of the change."""
    amount = _one_of(values, 0.08)
    return lambda s, c: {"faults": {name: amount(s, c)}, "suppression": {"kind": c.choice(("none", "diode"))}}


def _always(change: Change) -> Make:
    return lambda _s, _c: change


def _short(severity: int, chance: random.Random) -> Change:
    return {"suppression": {"kind": "resistor", "resistor_ohm": _one_of((6.0, 2.5, 0.5), 0.3)(severity, chance)}}


def _opens_hot(severity: int, chance: random.Random) -> Change:
    """Kelvin above the bench at which the joint opens; from five minutes with the coil on no part stays below 25."""
    return {"faults": {"coil_opens_above_c": _one_of((22.0, 14.0, 7.0), 0.1)(severity, chance)}}


def _magnetised(severity: int, chance: random.Random) -> Change:
    """So much that the spring no longer wins; a hinge that jams as well is drawn as the worst of `sluggish`."""
    return {"coil": {"residual_mmf_a": _one_of((68.0, 78.0, 90.0), 0.05)(severity, chance)}}


def _freed(severity: int, chance: random.Random) -> Change:
    """With a diode across its coil a part cannot be fed backwards."""
    return _magnetised(severity, chance) | {"suppression": {"kind": chance.choice(("none", "resistor"))}}


def _sluggish(severity: int, chance: random.Random) -> Change:
    """Friction as a share of the return spring's force, which `draw` multiplies: with more the part sticks."""
    share = _one_of((0.67, 0.72, 0.77), 0.02)(severity, chance)
    return {"faults": {"extra_friction_n": share}, "armature": {"friction_scatter": 0.12}}


FAULTS: dict[str, Make] = {
    "coil_open": _always({"faults": {"coil_open": True}, "suppression": {"kind": "none"}}),
    "coil_open_behind_resistor": _always({"faults": {"coil_open": True}, "suppression": {"kind": "resistor"}}),
    "coil_shorted": _short,
    "diode_reversed": _always({"suppression": {"kind": "diode", "reversed": True}}),
    "shorted_turns": _winding("shorted_turns_percent", (26.0, 40.0, 58.0)),
    "coil_high": _winding("coil_ohm_percent", (35.0, 50.0, 80.0)),
    "opens_hot": _opens_hot,
    "tacking": _fault("tacks_a", (16.0, 14.0, 12.5), 0.02),
    "tacking_hot": _fault("hot_weld_n_per_as", (250.0, 500.0, 1500.0)),
    "tacking_hot_nc": _fault("hot_weld_nc_n_per_as", (60.0, 120.0, 400.0)),
    "suppression_missing": _always({"suppression": {"kind": "none"}}),
    "wrong_voltage": _always({}),
    "normally_closed": _always({"form": "B"}),
    "normally_open": _always({"form": "A"}),
    "stuck_at_rest": _always({"faults": {"stuck": "at rest"}}),
    "stuck_operated": _always({"faults": {"stuck": "operated"}}),
    "welded_no": _always({"faults": {"welded": "contact_no"}}),
    "welded_nc": _always({"faults": {"welded": "contact_nc"}}),
    "burnt_no": _burnt("contact_no"),
    "burnt_nc": _burnt("contact_nc"),
    "film_no": _film("contact_no"),
    "film_nc": _film("contact_nc"),
    "dead_no": _dead("contact_no"),
    "dead_nc": _dead("contact_nc"),
    "sticks_after_rest": _fault("gummed_s", (0.02, 0.06, 0.2)),
    "insulates_after_rest_no": _skin("contact_no"),
    "insulates_after_rest_nc": _skin("contact_nc"),
    "corroded_blade": _blade,
    "terminal_no": _terminal("contact_no"),
    "terminal_nc": _terminal("contact_nc"),
    "under_rated": _thin,
    "leak_contact": _leak("30-87"),
    "leak_coil": _leak("86-87"),
    "weak_spring": _fault("return_spring_percent", (40.0, 28.0, 15.0)),
    "residual_magnetism": lambda s, c: {"coil": {"residual_mmf_a": _one_of((38.0, 43.0, 52.0), 0.06)(s, c)}},
    "held_operated": _magnetised,
    "held_magnetised": _freed,
    "sluggish": _sluggish,
    "bouncing": lambda s, c: {"armature": {"contact_damping_s_per_m": _one_of((0.2, 0.12, 0.07), 0.1)(s, c)}},
}
ALSO_TRUE = {
    "residual_magnetism": "held_operated", "sluggish": "held_operated", "welded_no": "stuck_operated",
    "welded_nc": "stuck_at_rest",
}  # fmt: skip
"""A name that holds for both causes: once they are so bad that the armature stays operated, and where a weld is so
strong that it holds the armature."""
NEEDS_NC = {
    "normally_closed",
    "normally_open",
    "welded_nc",
    "burnt_nc",
    "film_nc",
    "dead_nc",
    "corroded_blade",
    "terminal_nc",
    "tacking_hot_nc",
    "insulates_after_rest_nc",
}
VISIBLE_TOGETHER = (
    ("burnt_no", "burnt_nc"),
    ("burnt_no", "weak_spring"),
    ("burnt_nc", "bouncing"),
    ("film_no", "burnt_nc"),
    ("film_no", "sluggish"),
    ("dead_nc", "shorted_turns"),
    ("coil_high", "burnt_no"),
    ("weak_spring", "dead_nc"),
    ("bouncing", "coil_high"),
    ("film_nc", "residual_magnetism"),
    ("welded_no", "coil_high"),
    ("stuck_at_rest", "burnt_nc"),
)
"""Pairs of which neither hides the other."""
GRAVE = (
    "welded_no", "welded_nc", "burnt_no", "burnt_nc", "coil_open", "coil_open_behind_resistor", "coil_shorted",
    "shorted_turns", "diode_reversed",
)  # fmt: skip
"""Of these no part may ever pass."""


def bases_for(fault: str) -> tuple[Base, ...]:
    """Classes of part that can have a fault."""
    if fault == "wrong_voltage":
        return ("mini_12v_changeover",)
    return CHANGEOVER if fault in NEEDS_NC else specimens.BASES


def suppression_on_sheet(faults: tuple[str, ...], specimen: Specimen, chance: random.Random) -> str:
    """What the sheet says is across the coil: the truth, but for a part that has lost it."""
    return chance.choice(("diode", "diode_zener")) if "suppression_missing" in faults else specimen.suppression.kind


def draw(faults: tuple[str, ...], severity: int, chance: random.Random) -> tuple[Base, Specimen]:
    """One part with these faults (none: a sound one), and the class that it is tested as."""
    fitting = [base for base in specimens.BASES if all(base in bases_for(f) for f in faults)]
    base = chance.choice(fitting)
    sound = specimens.specimen("mini_24v_changeover" if "wrong_voltage" in faults else base, chance)
    return base, planted(sound, base, faults, severity, chance)


def planted(sound: Specimen, base: Base, faults: tuple[str, ...], severity: int, chance: random.Random) -> Specimen:
    """The same part with these faults in."""
    given = sound.model_dump()
    for throw in ("contact_no", "contact_nc"):
        given[throw]["pitting_mohm"] = min(given[throw]["pitting_mohm"], SOUND_MOHM)
    for fault in faults:
        _lay(given, FAULTS[fault](severity, chance))
        if fault == "opens_hot":
            given["faults"]["coil_opens_above_c"] += given["temperature_c"]
        if fault == "sluggish":
            leaf = 1.3 if base == "mini_12v_normally_open" else 1.0  # its leaf helps it more to let go
            given["faults"]["extra_friction_n"] *= given["armature"]["return_n"] * leaf
        if fault == "bouncing" and base == "mini_12v_normally_open":  # its one contact rings less
            given["armature"]["contact_damping_s_per_m"] *= 0.4
    return Specimen.model_validate(given)


def _lay(under: dict[str, Any], change: Change) -> None:
    for key, value in change.items():
        if isinstance(value, dict):
            _lay(under[key], value)
        else:
            under[key] = value
