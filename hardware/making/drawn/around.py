"""Picture of what stands around the one board: boxes for the parts beside it, and every wire with its number."""

from collections.abc import Iterator
from xml.sax.saxutils import escape

from making.circuit import Circuit
from making.copper.onboard import Board, End, Wire

Box = tuple[float, float, str]
"""Left, width, what it is; all stand in one row, so that no wire crosses another part."""
WIDE, HIGH = 1500, 640
PLAIN, HOT, INK, HEAVY, THIN = "#f6f4ec", "#f2c9b8", "#22364f", "#111111", "#b3261e"
TOP, TALL = 90, 130
BOXES: dict[str, Box] = {
    "J9": (20, 100, "battery, clamps"),
    "F2": (135, 90, "15 A, at the post"),
    "S1": (240, 110, "emergency stop"),
    "K1": (356, 194, "main relay, in its socket"),
    "R56": (565, 90, "1.2 ohm"),
    "TS1": (665, 80, "on R56"),
    "Q16": (755, 130, ""),
    "Q17": (895, 100, ""),
    "R30": (1025, 150, "shunt 15 A 75 mV"),
    "J3": (1190, 290, "socket of the part"),
}
PLATE = (555, 450, "plate")
AT = {"F5": "K1", "F1": "K1", "R136": "K1", "R77": "K1", "D41": "K1", "D40": "K1"}
AT |= dict.fromkeys(("R31", "R33", "R35", "R38", "R39", "R40", "R42"), "J3")
AT |= {"R71": "Q16", "R79": "Q16", "R73": "Q17", "R96": "Q17"}
"""Whose box a part stands at with its own leg."""
STRIP = (40, 520, 1420, 80)
"""The board itself; wires land along it in the order of their holes."""


def _words(x: float, y: float, words: str, size: float = 11, anchor: str = "start", colour: str = "black") -> str:
    style = f'font-family="sans-serif" font-size="{size:g}" fill="{colour}" text-anchor="{anchor}"'
    return f'<text x="{x:g}" y="{y:g}" {style}>{escape(words)}</text>'


def _home(end: End) -> str:
    return "" if isinstance(end[0], int) else AT.get(end[0], end[0])


def _ports(board: Board, wires: list[Wire]) -> dict[tuple[int, int], tuple[float, float]]:
    """Where each end of each wire touches its box: spread along the edge that faces the other end."""
    ends: dict[str, list[tuple[float, int, int]]] = {}
    for wire in wires:
        for side in (0, 1):
            own, other = _home(wire.ends[side]), _home(wire.ends[1 - side])
            if own:
                ends.setdefault(own, []).append((_middle(other, wire, 1 - side), wire.number, side))
    places: dict[tuple[int, int], tuple[float, float]] = {}
    for ref, own_ends in ends.items():
        left, wide, _ = BOXES[ref]
        for n, (_, number, side) in enumerate(sorted(own_ends), 1):
            places[number, side] = (left + wide * n / (len(own_ends) + 1), TOP + TALL)
    holes = sorted(
        (end[1], wire.number, side) for wire in wires for side, end in enumerate(wire.ends) if isinstance(end[0], int)
    )
    for n, (_, number, side) in enumerate(holes, 1):
        places[number, side] = (STRIP[0] + STRIP[2] * n / (len(holes) + 1), STRIP[1])
    return places


def _middle(ref: str, wire: Wire, side: int) -> float:
    if ref:
        return BOXES[ref][0] + BOXES[ref][1] / 2
    return STRIP[0] + STRIP[2] * float(wire.ends[side][1]) / 62


def _pin(circuit: Circuit, end: End) -> str:
    if isinstance(end[0], int):
        return f"{end[0]}-{end[1]}"
    return str(end[1]) if end[0] in BOXES else f"{end[0]}"


def _lines(circuit: Circuit, board: Board) -> Iterator[str]:
    wires = [wire for wire in board.wires if any(isinstance(end[0], str) for end in wire.ends)]
    places = _ports(board, wires)
    levels = {True: 0, False: 0}
    for wire in wires:
        (ax, ay), (bx, by) = places[wire.number, 0], places[wire.number, 1]
        heavy = wire.mm2 > 2
        level = levels[heavy]
        levels[heavy] += 1
        bus = TOP + TALL + 26 + 7 * level if heavy else TOP + TALL + 100 + 5.8 * level
        path = f"M{ax:g} {ay:g}V{bus:g}H{bx:g}V{by:g}"
        colour, wide = (HEAVY, 4) if heavy else (THIN, 1.2)
        yield f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{wide}" stroke-opacity="0.75"/>'
        for (x, y), end in (((ax, ay), wire.ends[0]), ((bx, by), wire.ends[1])):
            down = 14 if y >= STRIP[1] else -4
            yield _words(x + 2, y + down, _pin(circuit, end), 8.5, colour=INK)
            tip = y - 12 if y >= STRIP[1] else y + 13
            yield f'<circle cx="{x:g}" cy="{tip:g}" r="8" fill="white" stroke="{colour}"/>'
            yield _words(x, tip + 3, str(wire.number), 8.5, "middle", colour)


def picture(circuit: Circuit, board: Board) -> str:
    """The whole as SVG."""
    lines = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}" height="{HIGH}" viewBox="0 0 {WIDE} {HIGH}">']
    lines += [f'<rect width="{WIDE}" height="{HIGH}" fill="white"/>', _words(20, 30, "Around the board", 17)]
    told = (
        "Black: 2.5 mm2; red: thin wires; numbers as in the list. A part named at an end stands there with its own leg."
    )
    lines.append(_words(20, 50, told))
    left, wide, name = PLATE
    size = f'x="{left}" y="{TOP - 24}" width="{wide}" height="{TALL + 16}"'
    lines += [f'<rect {size} fill="{HOT}" stroke="{INK}"/>', _words(left + 6, TOP - 9, name, 12)]
    for ref, (left, wide, what) in BOXES.items():
        size = f'x="{left}" y="{TOP}" width="{wide}" height="{TALL}"'
        lines += [f'<rect {size} fill="{PLAIN}" stroke="{INK}"/>', _words(left + 6, TOP + 17, ref, 13)]
        lines.append(_words(left + 6, TOP + 33, what, 10))
        here = [one for one, home in AT.items() if home == ref]
        for row in range(0, len(here), 4):
            told = ("with " if not row else "") + ", ".join(here[row : row + 4])
            lines.append(_words(left + 6, TOP + 50 + 3.5 * row, told, 9.5, colour="#555555"))
    left, top, wide, high = STRIP
    lines.append(f'<rect x="{left}" y="{top}" width="{wide}" height="{high}" fill="#ecd9b8" stroke="{INK}"/>')
    lines.append(_words(left + 10, top + 60, "the board; beside each wire its hole", 13))
    return "\n".join([*lines, *_lines(circuit, board), "</svg>", ""])
