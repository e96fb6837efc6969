"""Faults planted into the second plant, under the names that the diagnosis has for them.

Severity 0 is a fault that a mechanic would just call one, 2 is past mending. They are changes of this plant's own
physics; what the diagnosis expects of a fault was not looked at.
"""

import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from designs.draw import Drawn
from designs.second.design import Defects, Design, Surface

Change = Callable[[Design, int, random.Random], Design]
Beside = dict[str, Any]
"""Fields of the specimen around the design."""


def _of(values: tuple[float, float, float], severity: int, chance: random.Random, wide: float = 0.1) -> float:
    return values[severity] * chance.uniform(1 - wide, 1 + wide)


def _defect(**changes: Any) -> Change:
    return lambda made, _s, _c: replace(made, defects=replace(made.defects, **changes))


def _spring(made: Design, severity: int, chance: random.Random) -> Design:
    left = _of((0.4, 0.28, 0.15), severity, chance)
    return replace(made, hinge=replace(made.hinge, spring_n=made.hinge.spring_n * left, rate=made.hinge.rate * left))


def _shorted(made: Design, severity: int, chance: random.Random) -> Design:
    return replace(made, defects=Defects(shorted=_of((0.26, 0.4, 0.58), severity, chance)))


def _high(made: Design, severity: int, chance: random.Random) -> Design:
    return replace(made, defects=Defects(ohm_factor=1 + _of((0.35, 0.5, 0.8), severity, chance)))


def _rusty(made: Design, severity: int, chance: random.Random) -> Design:
    """Friction that takes most of what the spring has left to return the armature with."""
    share = _of((0.6, 0.7, 0.8), severity, chance, 0.04)
    preload = made.hinge.spring_n - made.leaf.lever * made.leaf.rate * made.leaf.preload_m * made.changeover
    return replace(made, hinge=replace(made.hinge, friction_n=share * (preload + made.hinge.friction_n)))


def _ringing(made: Design, severity: int, chance: random.Random) -> Design:
    """Contacts and stops that give back more of the speed: a leaf without its damper."""
    bounce = min(_of((0.78, 0.85, 0.9), severity, chance, 0.03), 0.94)
    return replace(made, leaf=replace(made.leaf, bounce=bounce, damping=0.02))


def _hard_iron(values: tuple[float, float, float]) -> Change:
    """Iron that keeps its magnetism: more coercive force, which shows as ampere-turns of the closed circuit."""

    def change(made: Design, severity: int, chance: random.Random) -> Design:
        return replace(made, iron=replace(made.iron, hc=_of(values, severity, chance)))

    return change


def _contact(throws: tuple[str, ...], change: Callable[[Surface, int, random.Random], Surface]) -> Change:
    def changed(made: Design, severity: int, chance: random.Random) -> Design:
        return replace(made, **{throw: change(getattr(made, throw), severity, chance) for throw in throws})  # type: ignore[arg-type]

    return changed


def _burnt(was: Surface, severity: int, chance: random.Random) -> Surface:
    used_ohm = 1e-3 * _of((22.0, 45.0, 110.0), severity, chance, 0.2)
    return replace(was, used_ohm=used_ohm, scatter=chance.uniform(0.3, 0.5))


def _film(was: Surface, severity: int, chance: random.Random) -> Surface:
    return replace(was, film_ohm=_of((0.4, 2.0, 12.0), severity, chance, 0.4), film_v=0.1)


def _dead(was: Surface, severity: int, chance: random.Random) -> Surface:
    return replace(was, film_ohm=_of((4.0, 15.0, 60.0), severity, chance, 0.3), film_v=1e3)


def _skin(was: Surface, severity: int, chance: random.Random) -> Surface:
    """What no volts of a bench break and the first touch rubs off."""
    return replace(was, film_ohm=_of((0.5, 10.0, 1e6), severity, chance, 0.4), film_v=1e3, film_rubs_off=True)


def _gummed(made: Design, severity: int, chance: random.Random) -> Design:
    return replace(made, defects=Defects(gummed_s=_of((0.02, 0.06, 0.2), severity, chance)))


def _blade(was: Surface, severity: int, chance: random.Random) -> Surface:
    return replace(was, metal_ohm=1e-3 * _of((16.0, 30.0, 60.0), severity, chance), used_ohm=4e-4)


NO, NC = ("contact_no",), ("contact_nc",)
CHANGES: dict[str, Change] = {
    "coil_open": _defect(coil_open=True),
    "coil_open_behind_resistor": _defect(coil_open=True),
    "coil_shorted": _defect(),
    "diode_reversed": _defect(),
    "shorted_turns": _shorted,
    "coil_high": _high,
    "stuck_at_rest": _defect(stuck="at rest"),
    "stuck_operated": _defect(stuck="operated"),
    "welded_no": _defect(weld_no=50.0),
    "welded_nc": _defect(weld_nc=50.0),
    "weak_spring": _spring,
    "sluggish": _rusty,
    "bouncing": _ringing,
    "residual_magnetism": _hard_iron((260.0, 330.0, 400.0)),
    "held_operated": _hard_iron((1600.0, 2000.0, 2600.0)),
    "burnt_no": _contact(NO, _burnt),
    "burnt_nc": _contact(NC, _burnt),
    "film_no": _contact(NO, _film),
    "film_nc": _contact(NC, _film),
    "dead_no": _contact(NO, _dead),
    "dead_nc": _contact(NC, _dead),
    "terminal_no": _contact(NO, _blade),
    "terminal_nc": _contact(NC, _blade),
    "corroded_blade": _contact(NO + NC, _blade),
    "sticks_after_rest": _gummed,
    "insulates_after_rest_no": _contact(NO, _skin),
    "insulates_after_rest_nc": _contact(NC, _skin),
    "tacking": _defect(),
    "leak_contact": _defect(),
    "leak_coil": _defect(),
}
NEEDS_NC = {"welded_nc", "burnt_nc", "film_nc", "dead_nc", "terminal_nc", "corroded_blade", "insulates_after_rest_nc"}
GRAVE = {
    "coil_open", "coil_open_behind_resistor", "coil_shorted", "diode_reversed", "shorted_turns", "stuck_at_rest",
    "stuck_operated", "welded_no", "welded_nc", "burnt_no", "burnt_nc", "dead_no", "dead_nc", "held_operated",
}  # fmt: skip
"""Of these no part may ever pass."""


def beside(fault: str, severity: int, chance: random.Random, factor: float) -> Beside:
    """What a fault changes around the design: suppressor, its ohms times `factor`, leaks, tacking."""
    if fault in ("coil_open", "shorted_turns", "coil_high"):
        return {"suppression": {"kind": "none"}}
    if fault == "coil_open_behind_resistor":
        return {"suppression": {"kind": "resistor", "resistor_ohm": 680.0 * factor}}
    if fault == "coil_shorted":
        ohm = _of((6.0, 2.5, 0.5), severity, chance, 0.3)
        return {"suppression": {"kind": "resistor", "resistor_ohm": ohm}}
    if fault == "diode_reversed":
        return {"suppression": {"kind": "diode", "reversed": True}}
    if fault == "tacking":
        return {"faults": {"tacks_a": _of((16.0, 14.0, 12.5), severity, chance, 0.02)}}
    if fault in ("leak_contact", "leak_coil"):
        between = "30-87" if fault == "leak_contact" else "86-87"
        ohm = _of((600e3, 100e3, 15e3), severity, chance, 0.3)
        return {"faults": {"leaks": [{"between": between, "ohm": ohm}]}}
    return {}


def planted(part: Drawn, fault: str, severity: int, chance: random.Random) -> Drawn:
    """The part with the fault in its design; `beside` has the rest."""
    return replace(part, design=CHANGES[fault](part.design, severity, chance))
