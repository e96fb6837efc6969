"""Where the hot things go: enclosure, plate and heatsinks seen from above, from a list of boxes with words."""

from xml.sax.saxutils import escape

Block = tuple[float, float, float, float, str, tuple[str, ...]]
"""Left, top, width, height, colour, lines of words."""
WIDE, HIGH = 1000, 650
PLASTIC, HOT, COOL, WARM = "#f6f4ec", "#f2c9b8", "#dfe9f2", "#f7e3c4"
BLOCKS: tuple[Block, ...] = (
    (40, 70, 300, 60, HOT, ("heatsink of Q1, 4 K/W", "outside, fins upright")),
    (360, 70, 200, 60, HOT, ("heatsink of U1, 11 K/W", "outside, fins upright")),
    (40, 150, 520, 330, PLASTIC, ("enclosure of plastic, slots low and high",)),
    (60, 200, 150, 100, COOL, ("boards A, B", "U1, Q1 by wires", "below 100 mm")),
    (60, 330, 150, 100, COOL, ("boards C, E, F, G",)),
    (230, 200, 150, 100, WARM, ("F1: at the jack J1,", "by the low slots,", "air below 40 degC")),
    (230, 330, 150, 100, COOL, ("Q3 with D12 and", "R20; Q4 stands free")),
    (400, 200, 140, 100, COOL, ("K1, F5, studs J2", "of the load")),
    (400, 330, 140, 100, COOL, ("board D, R30;", "socket and S1", "on the lid")),
    (40, 510, 150, 60, COOL, ("12 V battery", "and its two clamps, J9")),
    (230, 510, 250, 50, WARM, ("F2, 30 A, within 200 mm of the plus", "clamp: nothing is fed but through it")),
    (620, 150, 340, 330, HOT, ("aluminium plate 200 x 150 mm, outside", "on metal feet 20 mm off the bench")),
    (650, 220, 280, 80, WARM, ("R53 to R58, TS1 between R57 and R58", "screwed, with paste")),
    (650, 330, 280, 100, WARM, ("Q12 to Q17 on insulating pads, with their", "gate parts at their pins")),
)
LEADS = ("M190,535 H230", "M480,535 H546 V240 H540", "M190,565 H554 V260 H540")
"""Battery to F2, F2 to the plus stud, battery to the minus stud, as SVG paths."""
NOTES = (
    "A guard of perforated sheet, 30 mm off, goes over the plate and both heatsinks: nobody touches them by chance.",
    "The plate's wires pass the wall in two grommets: 2.5 mm2 on one side, gates and TS1 on the other.",
)


def _words(x: float, y: float, words: str, size: float, anchor: str) -> str:
    style = f'font-family="sans-serif" font-size="{size:g}" text-anchor="{anchor}"'
    return f'<text x="{x:g}" y="{y:g}" {style}>{escape(words)}</text>'


def picture() -> str:
    """The layout as SVG."""
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}" height="{HIGH}" viewBox="0 0 {WIDE} {HIGH}">'
    lines = [head, f'<rect width="{WIDE}" height="{HIGH}" fill="white"/>']
    lines.append(_words(40, 40, "What stands where (seen from above, not to scale)", 18, "start"))
    for left, top, width, height, colour, words in BLOCKS:
        box = f'x="{left:g}" y="{top:g}" width="{width:g}" height="{height:g}"'
        lines.append(f'<rect {box} fill="{colour}" stroke="black"/>')
        lines += [_words(left + width / 2, top + 24 + 17 * n, line, 12, "middle") for n, line in enumerate(words)]
    lines += [f'<path d="{lead}" fill="none" stroke="black" stroke-width="2"/>' for lead in LEADS]
    lines += [_words(40, HIGH - 44 + 20 * n, note, 12, "start") for n, note in enumerate(NOTES)]
    return "\n".join([*lines, "</svg>", ""])
