"""Stripboard wiring: on which board, strip and column every leg stands, and the wires between boards.

Rule: a strip is a net. A two-legged part stands in one column across its two strips; circuits, transistors, reeds
and parts on the panel or the plate stand beside the strips and come by wire. No strip need be cut.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from making.circuit import Circuit, CircuitError, Part
from making.lists import csv_text

BOARDS = {
    "A": ("supply", "coil_supply", "coil_switch"),
    "B": ("logic",),
    "C": ("contact", "load_supply"),
    "D": ("pulse_limit", "branches"),
    "E": ("scan",),
    "F": ("scan_lines",),
    "G": ("vehicle", "stand_in"),
}
STRIPS, COLUMNS = 39, 30
"""Half of a board of 100 x 160 mm: 39 strips of 30 holes."""
HEAVY = {
    "load_in",
    "load_fused",
    "load",
    "b1",
    "b5_mid",
    "b5",
    "b10",
    "b20",
    "load_bus",
    "t87",
    "t87a",
    "t30",
    "load_minus",
}
"""Nets that carry load current: 2.5 mm2 wire from screw to screw; a thin wire leads from there to a strip."""
OFF_BOARD = {"socket", "clamps", "jack", "relay_40a", "fuse_30a", "fuse_10a", "r_5m", "q_fet_load", "q_darlington"}
OFF_BOARD |= {
    "r_1r2_50w",
    "r_12r_25w",
    "r_100r_25w",
    "stop_switch",
    "push",
    "thermostat",
    "led",
    "ntc_10k",
    "relay_10a",
}
OFF_BOARD |= {"screw_2", "screw_5", "reed", "d_lowleak", "q_npn", "q_fet_small", "q_fet_coil"}
"""Types on the panel, the plate, a screw terminal, a socket or an adapter."""
AT_PINS = {
    "D12": "Q3",
    "C4": "U2",
    "C10": "U4",
    "C14": "U6",
    "C30": "U7",
    "C50": "U10",
    "C51": "U11",
    "C52": "U12",
    "C53": "U13",
    "C65": "U15",
}
"""Clamp and decoupling capacitors: short legs at the pins that they serve, not on a strip."""
LOAD_PINS = {"K1": ("30", "87"), "J3": ("30", "87", "87a"), "R30": ("I+", "I-")}


@dataclass(frozen=True)
class Leg:
    """One leg in its place; strip 0 is a screw or a direct wire and no hole."""

    board: str
    strip: int
    column: int
    net: str
    ref: str
    pin: str
    how: str


@dataclass
class _Board:
    name: str
    strips: dict[str, int] = field(default_factory=dict)
    taken: set[tuple[int, int]] = field(default_factory=set)

    def strip(self, net: str) -> int:
        return self.strips.setdefault(net, len(self.strips) + 1)

    def take(self, first: int, last: int) -> int:
        """The first column that is free from strip `first` to strip `last`, taken now."""
        holes = range(min(first, last), max(first, last) + 1)
        for column in range(1, COLUMNS + 1):
            if all((strip, column) not in self.taken for strip in holes):
                self.taken |= {(strip, column) for strip in holes}
                return column
        raise CircuitError(f"board {self.name}: no free column left; move a block to another board in strips.py")


def _direct(circuit: Circuit, net: str) -> bool:
    """A net between two pins of circuits in sockets: one wire, no strip."""
    pins = circuit.nets()[net]
    return len(pins) == 2 and all(circuit[ref].type.kind == "ic" for ref, _ in pins)


def _by_screw(part: Part, pin: str, net: str) -> bool:
    carries = pin in LOAD_PINS.get(part.ref, tuple(part.pins))
    return net in HEAVY and part.type.name in OFF_BOARD and carries and pin != "g"


def _part(circuit: Circuit, board: _Board, part: Part) -> Iterator[Leg]:
    pins = list(part.pins.items())
    if part.ref in AT_PINS:
        how = f"at the pins of {AT_PINS[part.ref]}"
        yield from (Leg(board.name, 0, 0, net, part.ref, pin, how) for pin, net in pins)
        return
    if part.type.kind == "ic" or part.type.name in OFF_BOARD:
        for pin, net in pins:
            if _by_screw(part, pin, net):
                yield Leg(board.name, 0, 0, net, part.ref, pin, "screw, 2.5 mm2")
            elif _direct(circuit, net):
                yield Leg(board.name, 0, 0, net, part.ref, pin, "wire to the other pin, 0.25 mm2")
            else:
                strip = board.strip(net)
                yield Leg(board.name, strip, board.take(strip, strip), net, part.ref, pin, "wire, 0.25 mm2")
        return
    rows = [board.strip(net) for _, net in pins]
    column = board.take(rows[0], rows[-1])
    yield from (Leg(board.name, s, column, net, part.ref, pin, "leg") for s, (pin, net) in zip(rows, pins, strict=True))


def legs(circuit: Circuit) -> list[Leg]:
    """Every leg of every part."""
    found: list[Leg] = []
    for name, blocks in BOARDS.items():
        board = _Board(name)
        for block in blocks:
            for part in circuit.block(block):
                found += _part(circuit, board, part)
        if len(board.strips) > STRIPS:
            raise CircuitError(f"board {name} needs {len(board.strips)} strips of {STRIPS}; move a block in strips.py")
    return found


def wiring(circuit: Circuit) -> str:
    """wiring.csv: a line a leg."""
    rows = [(leg.board, leg.strip or "", leg.column or "", leg.net, leg.ref, leg.pin, leg.how) for leg in legs(circuit)]
    return csv_text(("board", "strip", "column", "net", "ref", "pin", "by"), rows)


def links(circuit: Circuit) -> str:
    """links.csv: wires between boards, strip to strip, and from a strip to the screw of a heavy net."""
    places: dict[str, list[str]] = {}
    screws = {leg.net for leg in legs(circuit) if leg.how.startswith("screw")}
    for leg in legs(circuit):
        where = f"{leg.board}{leg.strip}" if leg.strip else ""
        if where and where not in places.setdefault(leg.net, []):
            places[leg.net].append(where)
    rows = []
    for net, strips in sorted(places.items()):
        ends = [*strips, *(["screw"] if net in screws else [])]
        if len(ends) > 1:
            rows.append((net, " - ".join(ends), "0.25 mm2"))
    return csv_text(("net", "strips", "wire"), rows)
