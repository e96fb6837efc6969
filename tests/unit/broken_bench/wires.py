"""Every wire of the bench that may come off or touch its neighbour, and what that does to this plant.

A wire is named by its net (hardware/lists/links.csv), with the board that it leads to where there are several, or by
its pin (J3.87s); those to the pins of parts beside the boards stand in `loose.py`. `plant/test_wires.py` holds the list
against the circuit; the campaign `wires` tries each of them.
"""

from dataclasses import replace
from itertools import pairwise

from broken_bench.contact_side import SHORT_OHM
from broken_bench.effect import (
    BRANCHES,
    COIL_CURRENT,
    LOAD_SUPPLY,
    LOW_SIDE,
    TEMPERATURE,
    WHOLE,
    Effect,
)
from broken_bench.loose import PINS


def _lost(*nets: str) -> Effect:
    return Effect(lost=frozenset(nets))


def _cut(*wires: str) -> Effect:
    return Effect(cut=frozenset(wires))


def _deaf(*parts: str) -> Effect:
    return Effect(deaf=frozenset(parts))


def _dark(*terminals: str) -> Effect:
    return Effect(dark=frozenset(terminals))


def _leak(one: str, other: str, ohm: float) -> Effect:
    return Effect(leak=(one, other, ohm))


def _floats(channel: int) -> Effect:
    return Effect(floats=frozenset({channel}))


NO_LOAD, NO_SUPPLY, OFF_COIL = Effect(no_load=True), Effect(no_supply=True), Effect(coil=True)
OPEN: dict[str, Effect] = {
    **{net: _lost(net) for net in (*BRANCHES, "coil_switch", "clamp_diode", "throw_no", "throw_nc")},
    "dry_no": _lost("dry_no"),
    "dry_nc": _lost("dry_nc"),
    "lamp": NO_SUPPLY,  # R99 holds Q7 off
    "coil_current": _floats(COIL_CURRENT),
    "coil_low_side": _floats(LOW_SIDE),
    "load_supply": _floats(LOAD_SUPPLY),
    "TH1": _floats(TEMPERATURE),
    "edge_no": _cut("edge_no"),
    "edge_nc": _cut("edge_nc"),
    "coil_plus": OFF_COIL,
    "coil_minus": OFF_COIL,
    "t86_sense": _dark("86"),
    "t85_sense": _dark("85"),
    "stop_n.B": Effect(stopped=True),
    "stop_n.G": WHOLE,
    "k1_feed": NO_LOAD,
    "k1_fused": NO_LOAD,
    "reset": WHOLE,
    "load_minus": NO_LOAD,
    "load_minus.D": WHOLE,
    "load_minus, second earth": Effect(earthed=True),
    **{f"gnd.{board}": WHOLE for board in "ABCDEFG"},
    "A off ground": _deaf("dac", "ina"),
    "B off ground": _deaf("bus"),
    "C off ground": _deaf("ads"),
    "D off ground": Effect(unlimited=True),
    "E off ground": _deaf("scan", "ports"),
    "F off ground": WHOLE,
    "G off ground": WHOLE,
    "v5.A": _deaf("dac", "ina"),
    "v5.B": WHOLE,
    "v5.C": _deaf("ads"),
    "v5.D": WHOLE,
    "v5.E": _deaf("scan", "ports"),
    "v5.F": WHOLE,
    "v5.G": WHOLE,
    **{f"{net}.A": _deaf("dac", "ina") for net in ("scl", "sda")},
    **{f"{net}.C": _deaf("ads") for net in ("scl", "sda")},
    **{f"{net}.E": _deaf("scan", "ports") for net in ("scl", "sda")},
    **{f"{net}.G": WHOLE for net in ("scl", "sda")},
    "x85": _dark("85"),
    "x86": _dark("86"),
    "s1": _dark("85"),
    **{f"l{n}": _dark(terminal) for n, terminal in enumerate(("86", "87", "87a"), 2)},
    **{f"p{n}": _dark(terminal) for n, terminal in enumerate(("85", "86", "87", "87a"), 1)},
    **{f"{line}{n}": WHOLE for line in "lp" for n in range(5, 9)},
    "dummy_on": WHOLE,
    "stand_in": WHOLE,
    "J3.86": OFF_COIL,
    "J3.86s": _dark("86"),
    "J3.85": OFF_COIL,
    "J3.85s": _dark("85"),
    "J3.87": _cut("87"),
    "J3.87s": _cut("87s"),
    "J3.87a": _cut("87a"),
    "J3.87as": _cut("87as"),
    "J3.30": _cut("30"),
    "J3.30s": _cut("30s"),
    "R38": _lost("dry_no"),
    "R39": _lost("dry_nc"),
    "R40": _cut("R40"),
    "R42": _cut("R42"),
    "R77": NO_LOAD,
    "R30.V+": _cut("shunt"),
    "R30.V-": replace(_cut("star"), no_load=True),
    "R30.I-": NO_LOAD,
    "J1.plus": NO_SUPPLY,
    "J2.minus": NO_LOAD,
    **PINS,
}
"""Each wire open. Ground is a ring, so that a board is off it only with both its wires: a second fault, here as one."""
NANO = (
    *BRANCHES, "edge_nc", "edge_no", "coil_switch", "clamp_diode", "throw_no", "throw_nc", "lamp",
)  # fmt: skip
"""Neighbours on the strips of board B, whose wires lie side by side, digital ones."""


def _pair(a: str, b: str) -> Effect:
    edges = {"edge_no", "edge_nc"}
    if {a, b} == edges:
        return Effect(joined=((a, b),))
    if a in edges or b in edges:
        return Effect(drives=((a, b) if a in edges else (b, a),))
    return Effect(together=frozenset({a, b}))


SHORT: dict[tuple[str, str], Effect] = {
    **{pair: _pair(*pair) for pair in pairwise(NANO)},
    ("lamp", "coil_current"): Effect(high=frozenset({COIL_CURRENT})),  # lit whenever the coil is on
    ("coil_current", "temperature"): Effect(low=frozenset({TEMPERATURE})),
    ("temperature", "dry_no"): Effect(lost=frozenset({"dry_no"}), floats=frozenset({TEMPERATURE})),
    ("dry_no", "dry_nc"): Effect(together=frozenset({"dry_no", "dry_nc"})),
    ("dry_nc", "sda"): _deaf("bus"),
    ("sda", "scl"): _deaf("bus"),
    ("scl", "load_supply"): _deaf("bus"),
    ("load_supply", "coil_low_side"): Effect(mixed=(LOAD_SUPPLY, LOW_SIDE)),
    ("coil_low_side", "v5"): Effect(high=frozenset({LOW_SIDE})),
    ("lamp", "stop_n"): NO_SUPPLY,  # the closed stop holds it dark; when open it is dark by all_off
    ("branch_20a", "load_minus"): _lost("branch_20a"),
    ("coil_current", "clamp_diode"): Effect(low=frozenset({COIL_CURRENT})),
    ("t86_sense", "coil_minus"): Effect(bridged=("85", "86")),
    ("scl", "dry_no"): _deaf("bus"),
    ("gnd", "sda"): _deaf("bus"),
    ("v5", "sda"): _deaf("bus"),
    ("s1", "l2"): _leak("85", "86", 2100.0),
    ("l2", "l3"): _leak("86", "87", 2000.0),
    ("l3", "l4"): _leak("87", "87a", 2000.0),
    ("p1", "p2"): _leak("85", "86", 20e3),
    ("p2", "p3"): _leak("86", "87", 20e3),
    ("p3", "p4"): _leak("87", "87a", 20e3),
    ("x85", "t86_sense"): _leak("85", "86", SHORT_OHM),
    ("gnd", "x85"): _leak("85", "gnd", SHORT_OHM),
    ("s1", "x86"): _leak("85", "86", 1100.0),
    ("J3.86", "J3.86s"): WHOLE,
    ("J3.86s", "J3.85"): Effect(bridged=("85", "86")),
    ("J3.85", "J3.85s"): WHOLE,
    ("J3.85s", "J3.87"): Effect(bridged=("85", "87")),
    ("J3.87", "J3.87s"): WHOLE,
    ("J3.87s", "J3.87a"): Effect(joined=(("87b", "87ab"),), bridged=("87", "87a")),
    ("J3.87a", "J3.87as"): WHOLE,
    ("J3.87as", "J3.30"): Effect(joined=(("87ab", "30b"),), bridged=("87a", "30")),
    ("J3.30", "J3.30s"): WHOLE,
}
"""Each wire shorted to its neighbour: strips that lie side by side and both have a wire to another board; contacts of
the socket. A strip without such a wire is looked at with the meter while its board is built."""
LOOSE, SAME = "a loose lead hangs free while a relay is tested", "two wires of one contact"
HARMLESS: dict[tuple[str, str], str] = {
    ("k1_fused", "k1_feed"): "the stop no longer opens K1; self-test --link finds it",
    ("stand_in", "stop_n"): "the board no longer sees the stop, which opens both supplies; self-test --link finds it",
    ("v5", "gnd"): "the board has no supply and does not answer",
    ("gnd", "reset"): "the board stays in reset and does not answer",
    ("reset", "v5"): "it cannot be flashed",
    ("coil_plus", "t86_sense"): SAME,
    ("coil_minus", "t85_sense"): SAME,
    ("t85_sense", "x85"): "as K3 stuck closed: every part stays whole (hardware/stress.md)",
    ("t86_sense", "x86"): "as K4 stuck closed: every part stays whole (hardware/stress.md)",
    ("x86", "l2"): "the line of 86 has no resistor of its own; the ends of the scan still have",
    ("dummy_on", "stand_in"): "the vehicle side is not driven",
    **dict.fromkeys((("l4", "l5"), ("l8", "p1"), ("p4", "p5"), ("p8", "v5")), LOOSE),
    **{(f"{line}{n}", f"{line}{n + 1}"): LOOSE for line in "lp" for n in range(5, 8)},
}
"""Neighbours that are not tried, each with its reason."""


def effect(name: str) -> Effect:
    """The effect of a fault by its name: a wire, open, or `wire to wire`, shorted; empty: none.

    Raises KeyError for no such wire.
    """
    if not name:
        return WHOLE
    a, _, b = name.partition(" to ")
    return SHORT[a, b] if b else OPEN[a]


def names() -> tuple[str, ...]:
    """Every fault."""
    return (*OPEN, *(" to ".join(pair) for pair in SHORT))
