"""Picture of a build on one stripboard, from the parts' side: copper, cuts, legs in their holes, numbered wires."""

from xml.sax.saxutils import escape

from making.circuit import Circuit
from making.copper.onboard import Board, Hole, Wire, nets_of

PITCH, LEFT, TOP = 27, 60, 96
COPPER, CUT, BODY, WIRE, CHIP, HOT = "#ecd9b8", "#444444", "#22364f", "#b3261e", "#dfe9f2", "#f2c9b8"
HALF = {"to220": 13, "to92": 9}
"""Half the width of a transistor's body, in the units of the picture."""
NUDGED = {"Q10": (10, -10), "R135": (6, -10), "R19": (-6, 22), "P1": (8, -18), "S4": (8, 18)}
"""Where a reference stands that would lie on other words."""
REACH = {"U5": 8, "U7": 7}
"""How many holes a module reaches beyond its one row of pins, away from the Nano."""


def _at(hole: Hole) -> tuple[int, int]:
    return LEFT + hole[1] * PITCH, TOP + hole[0] * PITCH


def _words(x: float, y: float, words: str, size: float, colour: str = "black", anchor: str = "start") -> str:
    style = f'font-family="sans-serif" font-size="{size:g}" fill="{colour}" text-anchor="{anchor}"'
    style += ' paint-order="stroke" stroke="white" stroke-width="2.5" stroke-opacity="0.8"'
    return f'<text x="{x:g}" y="{y:g}" {style}>{escape(words)}</text>'


def _copper(circuit: Circuit, board: Board) -> list[str]:
    lines = []
    for piece, net in nets_of(circuit, board).items():
        first, last = board.span(piece)
        (x, y), (end, _) = _at((piece[0], first)), _at((piece[0], last))
        wide = end - x + PITCH * 0.8
        lines.append(f'<rect x="{x - PITCH * 0.4:g}" y="{y - 7}" width="{wide:g}" height="14" fill="{COPPER}"/>')
        lines.append(_words(x - PITCH * 0.4, y - 8.5, net, 8, "#7a5a1e"))
    for strip, holes in board.cuts.items():
        for x, y in (_at((strip, hole)) for hole in holes):
            cross = f"M{x - 5} {y - 5}L{x + 5} {y + 5}M{x - 5} {y + 5}L{x + 5} {y - 5}"
            lines.append(f'<path d="{cross}" stroke="{CUT}" stroke-width="2.5"/>')
    return lines


def _rulers(board: Board) -> list[str]:
    lines = []
    for column in range(1, board.holes + 1):
        x, _ = _at((1, column))
        tall = column == 1 or column % 5 == 0
        for y in (TOP + 4, TOP + (board.strips + 1) * PITCH + 4):
            lines.append(_words(x, y, str(column) if tall else ".", 9, "#555555", "middle"))
    for strip in range(1, board.strips + 1):
        _, y = _at((strip, 1))
        lines += [_words(LEFT - 4, y + 4, str(strip), 11, "#555555", "end")]
        lines += [_words(_at((1, board.holes + 1))[0], y + 4, str(strip), 11, "#555555")]
    return lines


def _box(left: float, top: float, right: float, bottom: float, fill: str, dashed: bool) -> str:
    size = f'x="{left:g}" y="{top:g}" width="{right - left:g}" height="{bottom - top:g}"'
    look = f'fill="{fill}" fill-opacity="0.6" stroke="{BODY}"' + (' stroke-dasharray="5 3"' if dashed else "")
    return f'<rect {size} rx="5" {look}/>'


def _chip(circuit: Circuit, board: Board, ref: str) -> list[str]:
    """A circuit in its socket: outline, reference, the mark of each pin beside its hole."""
    own = {pin: hole for (one, pin), hole in (board.legs | board.unused).items() if one == ref}
    strips, columns = [strip for strip, _ in own.values()], [column for _, column in own.values()]
    module = len(set(columns)) == 1
    first = min(columns) - (REACH.get(ref, 0) if module else 0)
    (x, y), (end, bottom) = _at((min(strips), first)), _at((max(strips), max(columns)))
    lines, middle = [_box(x - 11, y - 13, end + 11, bottom + 13, CHIP, module)], (x + end) / 2
    name = circuit[ref].type.value or circuit[ref].type.name.partition("_")[0].upper()
    high = (y + bottom) / 2 + 44 if module or ref == "U2" else y - 17
    lines.append(_words(middle, high, f"{ref} {name}", 12, BODY, "middle"))
    if ref == "U2":
        lines.append(_words(middle, y + 4, "USB", 11, BODY, "middle"))
    for pin, hole in own.items():
        px, py = _at(hole)
        lines.append(f'<circle cx="{px}" cy="{py}" r="4" fill="white" stroke="{BODY}"/>')
        number = circuit[ref].type.leg(pin)
        mark = pin.rstrip("2") if pin in ("GND2", "RST2") else pin
        told = mark if ref == "U2" else number if module else f"{number} {mark}"
        left = module or px > middle
        lines.append(_words(px - 6 if left else px + 6, py + 3, told, 7.5, BODY, "end" if left else "start"))
    return lines


def _part(circuit: Circuit, board: Board, ref: str) -> list[str]:
    """A part with legs of its own: its body as a line from leg to leg, or as a box over a transistor's legs."""
    own = {pin: hole for (one, pin), hole in board.legs.items() if one == ref}
    places = [_at(hole) for hole in own.values()]
    along = sorted(places, key=lambda place: (place[1], place[0]))
    (ax, ay), (bx, by) = along[0], along[-1]
    half = HALF.get(str(circuit[ref].type.figures.get("package", "")), 0)
    lines = [_box(ax - half, ay - 9, ax + half, by + 9, HOT, False)] if half else []
    path = " ".join(f"{x},{y}" for x, y in along)
    lines.append(f'<polyline points="{path}" fill="none" stroke="{BODY}" stroke-width="2"/>')
    mx, my = (ax + bx) / 2, (ay + by) / 2
    if not half:
        reach = min(0.3, 9 / ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5)
        dx, dy = (bx - ax) * reach, (by - ay) * reach
        body = f"M{mx - dx:g} {my - dy:g}L{mx + dx:g} {my + dy:g}"
        lines.append(f'<path d="{body}" stroke="{BODY}" stroke-width="8"/>')
    for pin, (x, y) in zip(own, places, strict=True):
        lines.append(f'<circle cx="{x}" cy="{y}" r="3.6" fill="white" stroke="{BODY}"/>')
        if mark := _mark(circuit, ref, pin, len(own)):
            lines.append(_words(x + 5, y + 3, mark, 8, BODY))
    dx, dy = NUDGED.get(ref, (10 if half else 6, 4))
    lines.append(_words(mx + dx, my + dy, ref, 9.5, BODY))
    return lines


def _mark(circuit: Circuit, ref: str, pin: str, legs: int) -> str:
    """What must not be turned round: a diode's ring, the plus of a capacitor, a transistor's leg and its number."""
    kind = circuit[ref].type
    if kind.rating == "electrolytic":
        return "+" if pin == "1" else ""
    if legs == 2:
        return "k" if pin == "k" else ""
    number = kind.leg(pin)
    return pin if number == pin else f"{number} {pin}"


def _wire(wire: Wire) -> list[str]:
    holes = [_at(end) for end in wire.ends if isinstance(end[0], int)]  # type: ignore[arg-type]
    lines = []
    if len(holes) == 2:
        (ax, ay), (bx, by) = holes
        bend = 0.12 * abs(ay - by) + 10 if abs(ax - bx) < 3 * PITCH else 0
        path = f"M{ax} {ay}Q{(ax + bx) / 2 + bend:g} {(ay + by) / 2:g} {bx} {by}"
        lines.append(f'<path d="{path}" fill="none" stroke="{WIRE}" stroke-width="2" stroke-opacity="0.55"/>')
    for x, y in holes:
        lines.append(f'<circle cx="{x}" cy="{y}" r="8.5" fill="white" stroke="{WIRE}" stroke-width="1.6"/>')
        lines.append(_words(x, y + 3.4, str(wire.number), 9.5, WIRE, "middle"))
    return lines


def picture(circuit: Circuit, board: Board, title: str) -> str:
    """The board as SVG."""
    wide, high = LEFT + (board.holes + 2) * PITCH + 20, TOP + (board.strips + 2) * PITCH
    lines = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" viewBox="0 0 {wide} {high}">']
    lines += [f'<rect width="{wide}" height="{high}" fill="white"/>', _words(14, 26, title, 17)]
    key = (
        "Seen from the parts. Brown: a strip's copper with its net; cross: the hole where it is cut; blue: parts with"
        " their legs; k: the ring of a diode; +: the plus of an electrolytic.",
        "Red: a wire and its number in the list (two rings of one number: from hole to hole). Strips without a brown"
        " bar carry nothing.",
    )
    lines += [_words(14, 46 + 16 * n, line, 11.5) for n, line in enumerate(key)]
    lines += [*_copper(circuit, board), *_rulers(board)]
    refs = list(dict.fromkeys(ref for ref, _ in board.legs))
    chips = [ref for ref in refs if circuit[ref].type.kind == "ic" and ref != "U9"]
    for ref in chips:
        lines += _chip(circuit, board, ref)
    for ref in refs:
        lines += _part(circuit, board, ref) if ref not in chips else []
    for wire in board.wires:
        lines += _wire(wire)
    shapes = [line for line in lines if not line.startswith("<text")]
    words = [line for line in lines if line.startswith("<text")]
    return "\n".join([*shapes, *words, "</svg>", ""])
