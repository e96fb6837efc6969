"""Sketches of the parts with more than two legs: which number is where, and which pin of the circuit it is.

Rule: the view is always the one that a person has with the part in hand; a sketch says which.
"""

from xml.sax.saxutils import escape

from making.circuit import Circuit, Type

Place = tuple[float, float, str]
"""x and y of a leg's end within a sketch, and where its name stands: left, right, above or below."""
WIDE, HIGH, ACROSS = 250, 200, 5
BODY = "#f6f4ec"
VIEWS = {
    "to220": "print towards you, legs down; the tab is leg 2",
    "to92": "flat side, with the print, towards you, legs down",
    "sot23": "from above",
    "sot23_5": "from above",
    "dip8": "from above, notch up",
    "dip16": "from above, notch up",
    "dip28": "from above, notch up",
    "sil": "print towards you, legs down, dot left",
    "nano": "from above, USB up",
    "module": "names as printed on the module",
    "mini_iso": "blades, or the socket's wire side, towards you",
    "four_legs": "A1, A2: the two that read 125 ohm; 11, 14: the others",
}
BLADES = {"87": (125, 72, True), "87a": (125, 105, True), "86": (88, 105, False), "85": (162, 105, False)}
BLADES |= {"30": (125, 140, False)}
"""Middle of each blade of the mini layout with 30 opposite 87, and whether it lies flat (from memory of ISO 7588-1)."""


def _words(x: float, y: float, words: str, size: float = 10, anchor: str = "start") -> str:
    style = f'font-family="sans-serif" font-size="{size:g}" text-anchor="{anchor}"'
    return f'<text x="{x:g}" y="{y:g}" {style}>{escape(words)}</text>'


def _row(numbers: list[int], y: float, way: str, left: float = 70, step: float = 50) -> dict[str, Place]:
    return {str(n): (left + step * k, y, way) for k, n in enumerate(numbers)}


def _columns(left: list[int], right: list[int], top: float, step: float) -> dict[str, Place]:
    places = {str(n): (80.0, top + step * k, "left") for k, n in enumerate(left)}
    return places | {str(n): (170.0, top + step * k, "right") for k, n in enumerate(right)}


def _places(package: str, legs: list[str]) -> tuple[dict[str, Place], tuple[float, float, float, float]]:
    """Where each leg ends, and the body as x, y, width, height."""
    if package == "sot23":
        return {**_row([1, 2], 140, "below", 95, 60), "3": (125.0, 60.0, "above")}, (75, 75, 100, 50)
    if package == "sot23_5":
        return {**_row([1, 2, 3], 140, "below"), "5": (70.0, 60.0, "above"), "4": (170.0, 60.0, "above")}, (
            55,
            75,
            130,
            50,
        )
    if package == "nano":
        return _columns(list(range(16, 31)), list(range(15, 0, -1)), 55, 14), (90, 45, 70, 220)
    if package.startswith("dip"):
        half, step = int(package[3:]) // 2, 14 if package == "dip28" else 18
        return _columns(list(range(1, half + 1)), list(range(2 * half, half, -1)), 60, step), (
            90,
            48,
            70,
            half * step + 6,
        )
    if package == "module":
        return {leg: (80.0, 60.0 + 14 * k, "left") for k, leg in enumerate(legs)}, (90, 48, 70, 14 * len(legs) + 6)
    if package == "four_legs":
        return {
            "A1": (80.0, 80.0, "left"),
            "A2": (80.0, 120.0, "left"),
            "11": (170.0, 80.0, "right"),
            "14": (170.0, 120.0, "right"),
        }, (90, 60, 70, 80)
    if package == "sil":
        return _row([1, 3, 5, 7], 140, "below", 50, 50), (35, 75, 180, 50)
    return _row([1, 2, 3], 140, "below"), (50, 60 if package == "to92" else 55, 140, 65)


def _name(x: float, y: float, way: str, number: str, pin: str) -> list[str]:
    if way in ("left", "right"):
        sign, anchor = (-1, "end") if way == "left" else (1, "start")
        return [_words(x + 4 * sign, y + 3.5, pin if pin == number else f"{number} {pin}", 10, anchor)]
    first, second = (13, 26) if way == "below" else (-16, -4)
    return [_words(x, y + first, number, 10, "middle"), _words(x, y + second, pin, 10, "middle")]


def _ranges(refs: list[str]) -> str:
    """Q12 Q13 Q14 Q17 -> "Q12 to Q14, Q17"."""
    groups: list[list[str]] = []
    for ref in refs:
        if groups and groups[-1][-1][0] == ref[0] and int(groups[-1][-1][1:]) + 1 == int(ref[1:]):
            groups[-1].append(ref)
        else:
            groups.append([ref])
    return ", ".join(one[0] if len(one) == 1 else f"{one[0]} to {one[-1]}" for one in groups)


def _titles(kind: Type, refs: str, package: str) -> list[str]:
    title = f"{kind.value or kind.name}, {package.upper().replace('_', '-')}"
    return [_words(6, 14, title, 12), _words(6, 28, refs, 9), _words(6, 40, VIEWS[package], 8.5)]


def _blades(pins: list[str]) -> list[str]:
    """A socket's contact has its sense wire under the same blade."""
    lines = [f'<rect x="60" y="52" width="130" height="110" fill="{BODY}" stroke="black"/>']
    for name, (x, y, flat) in BLADES.items():
        wide, high = (24, 5) if flat else (5, 24)
        free = name not in pins
        lines.append(
            f'<rect x="{x - wide / 2:g}" y="{y - high / 2:g}" width="{wide}" height="{high}"'
            f' fill="{"none" if free else "black"}" stroke="black"/>'
        )
        told = name if not free else f"{name}, free"
        told += f", {name}s" if f"{name}s" in pins else ""
        at = (x, y - 6, "middle") if flat else (x + 6, y + 4, "start")
        if name == "86":
            at = (56, y + 4, "end")
        elif name == "85":
            at = (194, y + 4, "start")
        lines.append(_words(at[0], at[1], told, 10, at[2]))
    return lines


def sketch(kind: Type, refs: str, pins: list[str]) -> list[str]:
    """One type: its title, its body, and its legs with the pins of the circuit; other legs are left free."""
    package = str(kind.figures["package"])
    if package == "mini_iso":
        return [*_titles(kind, refs, package), *_blades(pins)]
    places, (x, y, wide, high) = _places(package, [kind.leg(pin) for pin in pins])
    lines = _titles(kind, refs, package)
    lines.append(f'<rect x="{x:g}" y="{y:g}" width="{wide:g}" height="{high:g}" fill="{BODY}" stroke="black"/>')
    names = {kind.leg(pin): pin for pin in pins}
    for number, (px, py, way) in places.items():
        ends = {"left": (90.0, py), "right": (160.0, py), "below": (px, y + high), "above": (px, y)}[way]
        lines.append(f'<path d="M{px:g} {py:g}L{ends[0]:g} {ends[1]:g}" stroke="black"/>')
        lines += _name(px, py, way, number, names.get(number, "-"))
    return lines


def picture(circuit: Circuit) -> str:
    """Every type that has a package, as SVG."""
    types = {part.type.name: part for part in circuit.parts.values() if "package" in part.type.figures}
    tall = {"nano", "dip28", "dip16", "module"}
    listed = sorted(types.values(), key=lambda part: str(part.type.figures["package"]) in tall)
    lines: list[str] = []
    top, rows = 40.0, [listed[n : n + ACROSS] for n in range(0, len(listed), ACROSS)]
    for row in rows:
        for column, part in enumerate(row):
            refs = _ranges([p.ref for p in circuit.parts.values() if p.type.name == part.type.name])
            lines.append(f'<g transform="translate({column * WIDE} {top:g})">')
            lines += [*sketch(part.type, refs, list(part.pins)), "</g>"]
        top += 285 if any(str(part.type.figures["package"]) in tall for part in row) else HIGH
    width = WIDE * ACROSS
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{top:g}" viewBox="0 0 {width} {top:g}">'
    title = "Legs of the parts, from memory of the makers' sheets: check them on the sheet of the part that you bought"
    return "\n".join(
        [head, '<rect width="100%" height="100%" fill="white"/>', _words(6, 22, title, 14), *lines, "</svg>", ""]
    )
