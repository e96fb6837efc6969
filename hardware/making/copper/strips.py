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
"""Nets that carry load current: 2.5 mm2 wire from screw to screw."""
SCREWED = {"out30", "out30_fused", "out87", "vin1", "vin2", "vin3", "vin4", "w1", "w2", "w3", "w4"}
"""Nets that a vehicle may feed: from screw to screw too."""
MIDDLING = {"out30", "out30_fused", "out87"}
OFF_BOARD = {
    "socket",
    "clamps",
    "battery_leads",
    "jack",
    "relay_40a",
    "fuse_30a",
    "fuse_10a",
    "fuse_1a",
    "r_5m",
    "q_fet_load",
    "q_darlington",
}
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
OFF_BOARD |= {
    "screw_2",
    "screw_5",
    "reed",
    "d_lowleak",
    "q_npn",
    "q_pnp",
    "q_fet_small",
    "q_npn_800m",
    "q_fet_coil",
}
OFF_BOARD |= {"thyristor"}
"""Types on the panel, the plate, a screw terminal, a socket or an adapter."""
BOTH = ("1", "2")
AT_PINS: dict[str, tuple[str, tuple[str, ...]]] = {
    "D12": ("Q3", ("k",)),
    "F1": ("J1", ("1",)),
    "R1": ("U1", BOTH),
    "R2": ("U1", ("1",)),
    **dict.fromkeys(("R47", "C7"), ("Q4", BOTH)),
    **{c: (u, BOTH) for c, u in zip(("C4", "C10", "C14", "C30", "C43"), ("U2", "U4", "U6", "U7", "U8"), strict=True)},
    **{c: (u, BOTH) for c, u in zip(("C50", "C51", "C52", "C53"), ("U10", "U11", "U12", "U13"), strict=True)},
    "C65": ("U15", BOTH),
    **{f"Z{n}": (f"Q{n + 10}", BOTH) for n in range(2, 8)},
    **{f"R{n}": (f"Q{n - 48}", ("2",)) for n in range(60, 64)},
    "R71": ("Q16", ("2",)),
    "R73": ("Q17", ("2",)),
    "R20": ("Q3", BOTH),
    "R97": ("U4", ("2",)),
    "R10": ("U4", BOTH),
    "Q6": ("U4", ("d",)),
    "R98": ("Q6", ("2",)),
    "Q7": ("Q6", ("d",)),
    "R99": ("Q7", BOTH),
    **{r: (f"Q{n}", ("1",)) for n, r in enumerate(("R48", "R49", "R59", "R74", "R79", "R96"), 12)},
    **dict.fromkeys(("R31", "R33", "R35"), ("J3", ("1",))),
}
"""Where a part stands, and which of its legs: what sets U1, clamps, decoupling, gates, what spares a thin wire."""
AT_SCREW = {
    **{"F4": "1", "R77": "1", "R38": "2", "R40": "1", "R82": "1", "R103": "1"},
    **{"R39": "2", "R42": "1", "R83": "1", "R104": "1", "F3": "1"},
    **dict.fromkeys((*(f"R{n}" for n in range(84, 88)), *(f"R{n}" for n in range(105, 109))), "1"),
    **dict.fromkeys((f"R{n}" for n in range(111, 115)), "1"),
}
"""Parts with a leg at the screw of its net: no wire between what feeds the net and what bounds the current."""
SENSES = {"U6": ("R18", ("IN+", "IN-"))}
"""Whose pins have a wire each to the leg itself of that part: from elsewhere on its strip 1.5 % of R18 would add."""
BEYOND = {"coil_plus": "R17"}
"""Nets whose wire leaves the board in a hole beyond that part's leg, so that no taps of the net feel its current."""
RINGS = {"gnd"}
"""Nets whose boards are joined in a ring: any one wire may come off, and every board keeps the net."""
LOAD_PINS: dict[str, tuple[str, ...]] = {"K1": ("30", "87"), "J3": ("30", "87", "87a"), "R30": ("I+", "I-")}
LOAD_PINS |= {"Q10": (), "Q11": ()}
"""Pins of a part that carry load current, where not all of them do; the coil of K1 has thin wires behind F5."""
APART = {("A", "lamp"): 38, ("A", "stop_n"): 39, ("A", "k1_fused"): 7, ("C", "k1_fused"): 34, ("G", "scl"): 19}
"""Strips that stand by themselves. A bridge from lamp to dac or feedback would put volts on 86. One from what a battery
or the vehicle feeds ends a chip whose pin it meets, and perhaps all that hangs on its 5 V; at the coil supply it gets
past the stop. The strips where they would have stood stay empty, or take one that bears it."""
WIRE_M, HEAVY_M, LEADS_M = 0.12, 0.2, 2.0
"""Mean length of a thin wire and of a run of 2.5 mm2, offcuts included (assumed); both leads of the battery."""


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
        return self.strips.setdefault(net, APART.get((self.name, net), len(self.strips) + 1))

    def take(self, first: int, last: int) -> int:
        """The first column that is free from strip `first` to strip `last`, taken now."""
        holes = range(min(first, last), max(first, last) + 1)
        for column in range(1, COLUMNS + 1):
            if all((strip, column) not in self.taken for strip in holes):
                self.taken |= {(strip, column) for strip in holes}
                return column
        raise CircuitError(f"board {self.name}: no free column left; move a block to another board in strips.py")


def gauge(net: str) -> float:
    """Section of the wire of a net, mm2."""
    return 2.5 if net in HEAVY else 0.75 if net in MIDDLING else 0.25


def _direct(circuit: Circuit, net: str) -> bool:
    """A net between two pins of circuits in sockets: one wire, no strip."""
    pins = circuit.nets()[net]
    return len(pins) == 2 and all(circuit[ref].type.kind == "ic" for ref, _ in pins)


def _by_screw(part: Part, pin: str, net: str) -> bool:
    carries = pin in LOAD_PINS.get(part.ref, tuple(part.pins))
    return net in HEAVY and part.type.name in OFF_BOARD and carries and pin != "g"


def _alone(circuit: Circuit, net: str, ref: str, pin: str) -> bool:
    """All else on the net stands at this pin."""
    others = [(r, p) for r, p in circuit.nets()[net] if (r, p) != (ref, pin)]
    return all(AT_PINS.get(r, ("", ()))[0] == ref and p in AT_PINS[r][1] for r, p in others)


def _beside(circuit: Circuit, board: _Board, part: Part, pin: str) -> Leg:
    """A leg of a part that stands beside the strips."""
    net = part.net(pin)
    other, standing = AT_PINS.get(part.ref, ("", ()))
    sensed, sensing = SENSES.get(part.ref, ("", ()))
    if pin in standing:
        how = f"at the pins of {other}"
    elif pin in sensing:
        how = f"wire to the leg of {sensed}, {gauge(net)} mm2"
    elif _alone(circuit, net, part.ref, pin):
        how = "its own leg"
    elif AT_SCREW.get(part.ref) == pin:
        how = f"at the screw of {net}"
    elif net in SCREWED or _by_screw(part, pin, net):
        how = f"screw, {gauge(net)} mm2"
    elif _direct(circuit, net):
        how = f"wire to the other pin, {gauge(net)} mm2"
    else:
        strip = board.strip(net)
        return Leg(
            board.name, strip, board.take(strip, strip), net, part.ref, pin, f"wire, {min(gauge(net), 0.25)} mm2"
        )
    return Leg(board.name, 0, 0, net, part.ref, pin, how)


def _part(circuit: Circuit, board: _Board, part: Part) -> Iterator[Leg]:
    pins = list(part.pins.items())
    if part.ref in AT_PINS or part.ref in AT_SCREW or part.type.kind == "ic" or part.type.name in OFF_BOARD:
        yield from (_beside(circuit, board, part, pin) for pin in part.pins)
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
        if max(board.strips.values()) > STRIPS or len(set(board.strips.values())) < len(board.strips):
            raise CircuitError(f"board {name} needs {len(board.strips)} strips of {STRIPS}; move a block in strips.py")
    return found


def link_hole(found: list[Leg], net: str) -> tuple[str, int]:
    """Of a net in BEYOND: strip, such as A21, and the first free hole beyond the leg."""
    own = next(leg for leg in found if (leg.ref, leg.net) == (BEYOND[net], net))
    lies = [leg for leg in found if leg.board == own.board and leg.strip]
    taken = {leg.column for leg in lies if leg.strip == own.strip}
    for ref in {leg.ref for leg in lies if leg.how == "leg"}:
        strips = [leg.strip for leg in lies if leg.ref == ref and leg.how == "leg"]
        if min(strips) <= own.strip <= max(strips):
            taken |= {leg.column for leg in lies if leg.ref == ref and leg.how == "leg"}
    return f"{own.board}{own.strip}", next(hole for hole in range(own.column + 1, COLUMNS + 1) if hole not in taken)


def wiring(circuit: Circuit) -> str:
    """wiring.csv: a line a leg."""
    rows = [
        (leg.board, leg.strip or "", leg.column or "", leg.net, leg.ref, leg.pin, number, leg.how)
        for leg in legs(circuit)
        for number in [circuit[leg.ref].type.leg(leg.pin)]
    ]
    return csv_text(("board", "strip", "column", "net", "ref", "pin", "leg", "by"), rows)


def links(circuit: Circuit) -> str:
    """links.csv: wires between boards, strip to strip, and from a strip to the screw of a heavy net.

    A ring ends where it began.
    """
    places: dict[str, list[str]] = {}
    found = legs(circuit)
    screws = {leg.net for leg in found if "screw" in leg.how}
    holes = dict(link_hole(found, net) for net in BEYOND)
    for leg in found:
        where = f"{leg.board}{leg.strip}" if leg.strip else ""
        if where and where not in places.setdefault(leg.net, []):
            places[leg.net].append(where)
    rows = []
    for net, strips in sorted(places.items()):
        ends = [*strips, *(["screw"] if net in screws else []), *(strips[:1] if net in RINGS else [])]
        if len(ends) > 1:
            told = [f"{end} hole {holes[end]}" if end in holes else end for end in ends]
            rows.append((net, " - ".join(told), f"{min(gauge(net), 0.75)} mm2"))
    return csv_text(("net", "strips", "wire"), rows)


def metres(circuit: Circuit) -> dict[float, float]:
    """Metres of wire by section, mm2, that the bench takes."""
    how = [leg.how for leg in legs(circuit)]
    rows = [row.split(",") for row in links(circuit).splitlines()[1:]]
    between = {section: sum(r[1].count(" - ") for r in rows if r[2] == f"{section} mm2") for section in (0.25, 0.75)}
    told = {section: sum(h.endswith(f", {section} mm2") for h in how) for section in (0.25, 0.75, 2.5)}
    return {
        0.25: (told[0.25] + between[0.25]) * WIRE_M,
        0.75: (told[0.75] + between[0.75]) * HEAVY_M,
        2.5: told[2.5] * HEAVY_M + LEADS_M,
    }
