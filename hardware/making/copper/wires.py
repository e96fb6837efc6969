"""Whether each wire is as thick as what feeds it asks: from every supply to each net, the most that a short could draw.

Rule: a wire bears what the fuse before it lets pass, or a resistor bounds the current first. Nets that lead home to
the battery's minus are not looked at, nor is what stands at a screw without a wire.
"""

import csv
from math import inf

from making.circuit import Circuit, Part
from making.copper.onboard import Board, nets_of
from making.copper.onboard_lists import net_of
from making.copper.strips import legs, links

BEARS = {0.25: 3.0, 0.75: 10.0, 2.5: 30.0}
"""Fuse amps by section in mm2 (common practice in vehicles)."""
SOURCES = {"load_in": inf, "out30": inf, **dict.fromkeys(("vin1", "vin2", "vin3", "vin4"), inf)}
SOURCES |= {**dict.fromkeys(("w1", "w2", "w3", "w4"), inf), "coil_in": 5.0, "v5": 2.2}
"""What feeds the bench and the most that it gives: batteries, the coil supply with its own limit, U1 with its own."""
FIRST = {"load_in", "out30", *(f"vin{n}" for n in range(1, 5)), *(f"w{n}" for n in range(1, 5))}
"""Nets of which only the lead from outside is before a fuse or a resistor."""
HOME = {"gnd", "load_minus", "t30", "t30_sense", "shunt_plus"}
MOST_V = 36.0
JOINED = {"J3": (("86", "86s"), ("85", "85s"), ("87", "87s"), ("87a", "87as"))}
"""Pins of one contact."""


def _ways(part: Part) -> list[tuple[str, str, float]]:
    """Two nets and the most amps that pass between them: a fuse's own, what a resistor lets through, or all."""
    kind, pins = part.type, part.pins
    if part.ref in JOINED:
        return [(pins[a], pins[b], inf) for a, b in JOINED[part.ref] if b in pins]
    if kind.kind == "relay":
        coil = ("86", "85") if "86" in pins else ("A1", "A2")
        contact = ("30", "87") if "30" in pins else ("11", "14")
        through = MOST_V / kind.number("coil_ohm")
        return [(pins[coil[0]], pins[coil[1]], through), (pins[contact[0]], pins[contact[1]], inf)]
    if kind.name == "ina226_own":
        return [(pins["IN+"], pins["IN-"], inf)]
    if kind.name == "slide_switch":
        return [(pins["1"], pins["2"], inf), (pins["2"], pins["3"], inf)]
    if kind.kind == "potentiometer":
        return [(pins["3"], pins["2"], inf)]
    if kind.kind in ("ic", "connector", "capacitor", "shunt"):
        return []
    nets = [net for pin, net in pins.items() if pin not in ("g", "b")]
    if kind.kind in ("resistor", "ntc"):
        most = MOST_V / kind.number("ohm")
    elif kind.kind == "fuse":
        most = float(kind.figures.get("trip_a", kind.number("a")))
    else:
        most = inf
    return [(one, other, most) for one, other in zip(nets[::2], nets[1::2], strict=False)]


def feeds(circuit: Circuit) -> dict[str, float]:
    """Most amps that each net can be fed with: along the best way, the least of what bounds it."""
    found = dict(SOURCES)
    ways = [way for part in circuit.parts.values() for way in _ways(part)]
    while True:
        before = dict(found)
        for one, other, most in ways:
            for here, there in ((one, other), (other, one)):
                if here not in HOME and there not in HOME:
                    found[there] = max(found.get(there, 0.0), min(found.get(here, 0.0), most))
        if found == before:
            return found


def sections(circuit: Circuit) -> dict[str, float]:
    """The thinnest wire or strip of each net, mm2; a strip counts as the thinnest wire."""
    found: dict[str, float] = {}
    told = [(leg.net, leg.how) for leg in legs(circuit)]
    told += [(row["net"], f"link, {row['wire']}") for row in csv.DictReader(links(circuit).splitlines())]
    for net, how in told:
        if how == "leg" or how.endswith(" mm2"):
            section = 0.25 if how == "leg" else float(how.split(", ")[-1].split()[0])
            found[net] = min(section, found.get(net, section))
    return found


def sections_on(circuit: Circuit, board: Board) -> dict[str, float]:
    """The thinnest wire or strip of each net of a build on one board, mm2; a strip counts as the thinnest wire."""
    found = dict.fromkeys(nets_of(circuit, board).values(), 0.25)
    for wire in board.wires:
        net = net_of(circuit, board, wire)
        found[net] = min(wire.mm2, found.get(net, wire.mm2))
    return found


def too_thin(circuit: Circuit, thinnest: dict[str, float] | None = None) -> list[str]:
    """Every net with a wire that bears less than the net can be fed with, with both figures; `thinnest` as `sections`
    gives it."""
    fed = feeds(circuit)
    return [
        f"{net}: {section:g} mm2 bears a fuse of {BEARS[section]:g} A, fed with {fed[net]:.3g} A"
        for net, section in sorted((sections(circuit) if thinnest is None else thinnest).items())
        if net not in HOME | FIRST and fed.get(net, 0.0) > BEARS[section]
    ]
