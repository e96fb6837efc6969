"""Neighbouring strips that read low on a bench that is built right, so that the meter's second look knows a bridge.

Rule: resistors, fuses, the shunt, closed switches, relay coils and contacts of one clip count, all without power; what
a semiconductor or a capacitor lets through does not.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from making.circuit import Circuit, Part
from making.copper.onboard import Board, nets_of
from making.copper.strips import Leg, legs
from making.copper.wires import JOINED
from making.lists import markdown_table

LOW_OHM, CLOSED_OHM, OPEN_OHM = 50.0, 1e-3, 1e9
"""What reads low; what joins two nets, or nothing does."""
CLOSED = {"stop_switch": (("a1", "a2"), ("b1", "b2"), ("c1", "c2")), "thermostat": (("1", "2"),)}
CLOSED |= {
    "stop_two_poles": (("b1", "b2"), ("c1", "c2")),
    "slide_switch": (("1", "2"),),
    "ina226_own": (("IN+", "IN-"),),
}
HEAD = ("strips", "nets", "reads", "so look again")


def ways(part: Part) -> Iterator[tuple[str, str, float]]:
    """Two nets and the ohms by which a part joins them at rest, without power."""
    kind, pins = part.type, part.pins
    if kind.kind == "resistor":
        yield *pins.values(), kind.number("ohm")
    elif kind.kind == "fuse":
        yield *pins.values(), CLOSED_OHM
    elif kind.kind == "shunt":
        yield from ((one, other, CLOSED_OHM) for one, other in pairwise(pins.values()))
    elif kind.kind == "relay":
        coil = ("86", "85") if "86" in pins else ("A1", "A2")
        yield pins[coil[0]], pins[coil[1]], kind.number("coil_ohm")
    joined = (pair for pair in JOINED.get(part.ref, ()) if pair[1] in pins)
    for one, other in (*CLOSED.get(kind.name, ()), *joined):
        yield pins[one], pins[other], CLOSED_OHM


def _ohms(circuit: Circuit, pairs: list[tuple[str, str]], without: str = "") -> list[float]:
    """Between the nets of each pair, a part taken away."""
    at = {net: n for n, net in enumerate(circuit.nets())}
    siemens = np.eye(len(at)) / OPEN_OHM
    for part in circuit.parts.values():
        for one, other, ohm in ways(part) if part.ref != without else ():
            a, b = at[one], at[other]
            siemens[[a, b], [a, b]] += 1 / ohm
            siemens[[a, b], [b, a]] -= 1 / ohm
    ohms = np.linalg.inv(siemens)
    ends = [(at[one], at[other]) for one, other in pairs]
    return [float(ohms[a, a] + ohms[b, b] - 2 * ohms[a, b]) for a, b in ends]


def low(circuit: Circuit) -> dict[tuple[Leg, Leg], tuple[float, str]]:
    """A leg on either strip of each such pair: its ohms, and the part whose wire or button opens it; empty: none."""
    found = legs(circuit)
    on = {(leg.board, leg.strip): leg for leg in found if leg.strip}
    sides = [(leg, on[board, strip + 1]) for (board, strip), leg in sorted(on.items()) if (board, strip + 1) in on]
    nets = [(one.net, other.net) for one, other in sides]
    ohms = dict(zip(nets, _ohms(circuit, nets), strict=True))
    lows = [(one, other) for one, other in sides if ohms[one.net, other.net] < LOW_OHM]
    in_holes = {leg.ref for leg in found if leg.how == "leg"}
    return {pair: (ohms[pair[0].net, pair[1].net], _opener(circuit, pair, in_holes)) for pair in lows}


def _opener(circuit: Circuit, pair: tuple[Leg, Leg], in_holes: set[str]) -> str:
    nets = (pair[0].net, pair[1].net)
    parts = [part for part in circuit.parts.values() if set(nets) <= set(part.pins.values())]
    refs = [part.ref for part in parts if part.ref not in in_holes and [*ways(part)]]
    return next((ref for ref in refs if _ohms(circuit, [nets], ref)[0] >= LOW_OHM), "")


def beside(circuit: Circuit, board: Board) -> list[tuple[str, str, str]]:
    """Pairs of nets on copper that lies side by side, or end to end across a cut, and the first place where it does."""
    at = {(strip, hole): net for (strip, hole), net in _holes(circuit, board)}
    found: dict[tuple[str, str], str] = {}
    for (strip, hole), net in at.items():
        for other in ((strip + 1, hole), (strip, hole + 2)):
            cut = other[0] > strip or hole + 1 in board.cuts.get(strip, ())
            if cut and at.get(other, net) != net:
                found.setdefault((net, at[other]), f"{strip}-{hole}")
    return [(one, other, where) for (one, other), where in found.items()]


def _holes(circuit: Circuit, board: Board) -> Iterator[tuple[tuple[int, int], str]]:
    for piece, net in nets_of(circuit, board).items():
        first, last = board.span(piece)
        yield from (((piece[0], hole), net) for hole in range(first, last + 1))


def low_beside(circuit: Circuit, board: Board) -> list[tuple[str, str, str, float]]:
    """Those pairs that read low when all is right: nets, place, ohms."""
    pairs = beside(circuit, board)
    ohms = _ohms(circuit, [(one, other) for one, other, _ in pairs])
    return [(*pair, ohm) for pair, ohm in zip(pairs, ohms, strict=True) if ohm < LOW_OHM]


def text(circuit: Circuit) -> str:
    """The part of wires.md about them."""
    rows = []
    for (one, other), (ohm, ref) in low(circuit).items():
        again = "a bridge reads 0 ohm"
        if ref:
            pins = [pin for pin, net in circuit[ref].pins.items() if net in (one.net, other.net)]
            stop = circuit[ref].type.name == "stop_switch"
            again = "press the stop" if stop else f"the wire of {ref} {' or '.join(pins)} off"
            again += ": no bridge"
        strips = f"{one.board}{one.strip}, {other.board}{other.strip}"
        rows.append((strips, f"{one.net}, {other.net}", f"{ohm:.3g} ohm" if ohm > 1 else "0 ohm", again))
    head = [
        f"## Neighbouring strips that read below {LOW_OHM:g} ohm when all is right: {len(rows)}",
        "",
        "Between any other two such strips so little is a bridge.",
        "",
    ]
    return "\n".join([*head, markdown_table(HEAD, rows)])
