"""Pictures of the stripboards, seen from the parts' side: every strip with its net, every leg in its hole."""

from xml.sax.saxutils import escape

from making.circuit import Circuit, Type
from making.copper.strips import BOARDS, COLUMNS, Leg, legs

PITCH_X, PITCH_Y, LEFT, TOP = 78, 20, 120, 60
COPPER, BODY, WIRE = "#e3c9a0", "#22364f", "#9c3d1b"


def _place(leg: Leg) -> tuple[int, int]:
    return LEFT + leg.column * PITCH_X, TOP + leg.strip * PITCH_Y


def _words(x: float, y: float, words: str, size: int = 11, colour: str = "black", anchor: str = "start") -> str:
    style = f'font-family="sans-serif" font-size="{size}" fill="{colour}" text-anchor="{anchor}"'
    return f'<text x="{x:g}" y="{y:g}" {style}>{escape(words)}</text>'


def _strips(found: list[Leg]) -> list[str]:
    lines = []
    for strip, net in sorted({(leg.strip, leg.net) for leg in found}):
        y = TOP + strip * PITCH_Y
        width = (COLUMNS + 1) * PITCH_X
        lines.append(f'<rect x="{LEFT}" y="{y - 6}" width="{width}" height="12" fill="{COPPER}"/>')
        lines.append(_words(LEFT - 6, y + 4, f"{net} {strip}", anchor="end"))
    return lines


def _part(kind: Type, ref: str, own: list[Leg]) -> list[str]:
    """A part's body as a line from leg to leg, its reference beside the middle; a wire as a ring with its pin."""
    lines = []
    bodied = [leg for leg in own if leg.how == "leg"]
    if bodied:
        path = " ".join(f"{x},{y}" for x, y in map(_place, bodied))
        lines.append(f'<polyline points="{path}" fill="none" stroke="{BODY}" stroke-width="5" stroke-linecap="round"/>')
        (ax, ay), (bx, by) = _place(bodied[0]), _place(bodied[-1])
        lines.append(_words((ax + bx) / 2 + 5, (ay + by) / 2 + 4, ref, 12, BODY))
    for leg in own:
        x, y = _place(leg)
        if leg.how == "leg":
            lines.append(f'<circle cx="{x}" cy="{y}" r="3.5" fill="white" stroke="{BODY}"/>')
            if leg.pin == "k":
                lines.append(_words(x + 5, y + 3, leg.pin, 8, BODY))
        else:
            lines.append(f'<circle cx="{x}" cy="{y}" r="3.5" fill="white" stroke="{WIRE}" stroke-width="1.5"/>')
            number = kind.leg(leg.pin)
            name = f"{ref}.{leg.pin}" if number == leg.pin else f"{ref}.{number} {leg.pin}"
            lines.append(_words(x + 5, y + 3, name, 8, WIRE))
    return lines


def picture(circuit: Circuit, board: str) -> str:
    """One board as SVG."""
    found = [leg for leg in legs(circuit) if leg.board == board and leg.strip]
    height = TOP + (max(leg.strip for leg in found) + 2) * PITCH_Y
    width = LEFT + (COLUMNS + 2) * PITCH_X
    title = f"Board {board}: " + "; ".join(circuit.titles[block] for block in BOARDS[board])
    key = "blue: legs on the board; red ring: wire to a pin beside the board, U1.3 in: leg 3 of U1, which is its pin in"
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">'
    ]
    lines += [f'<rect width="{width}" height="{height}" fill="white"/>', _words(10, 22, title, 16), _words(10, 42, key)]
    lines += _strips(found)
    lines += [_words(LEFT + c * PITCH_X, TOP + 8, str(c), 9, "#777777", "middle") for c in range(1, COLUMNS + 1)]
    for ref in dict.fromkeys(leg.ref for leg in found):
        lines += _part(circuit[ref].type, ref, [leg for leg in found if leg.ref == ref])
    return "\n".join([*lines, "</svg>", ""])


def pictures(circuit: Circuit) -> dict[str, str]:
    """File name -> SVG."""
    return {f"board_{board}.svg": picture(circuit, board) for board in BOARDS}
