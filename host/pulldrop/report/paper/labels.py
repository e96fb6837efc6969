"""Labels for a crate's parts as PDF: number, bin, key figures and a QR code of the part's id.

Rule: what does not fit is left out from the end, figures first, never the number and the mark of its origin.
"""

from bisect import bisect_right
from collections.abc import Iterable
from pathlib import Path

import matplotlib
import segno
from fpdf import FPDF

from pulldrop.model import words
from pulldrop.model.crate.crate import Bin, Placed
from pulldrop.model.crate.lot import Lot
from pulldrop.model.harmless import harmless
from pulldrop.model.signs import signs
from pulldrop.report.paper.label_sizes import Labels
from pulldrop.report.paper.sheet import FONT, FONTS, PT, Say

EDGE_MM = 2.5
"""Kept free inside a label: printers and paper are off by a millimetre or two."""
SHAPES = {Bin.KEEP: "✔", Bin.LIGHT_DUTY: "⊘", Bin.SCRAP: "✘", Bin.LOOK_AGAIN: "?"}
QUIET = 4
"""Light modules around a QR code (ISO/IEC 18004, 5.3.8)."""
LARGEST_QR_MM = 26.0
MOST_CODED = 40
"""Letters of an id in a code, twice those of any part here: more of them are too fine to read at this size."""
LEADING = 1.2
MOST_LETTERS = 4000
"""Of one text: more than the largest label holds, in the smallest letters."""
MOST_REASON = 2
"""Lines of why a part is not kept, where figures follow."""


def labels(lot: Lot, size: Labels, skip: int = 0) -> bytes:
    """One label for each part, by its number; `skip` leaves out that many places of a sheet that was begun."""
    paper = FPDF(format=size.page, enforce_compliance="PDF/A-2U")
    for style, name in FONTS.items():
        paper.add_font(FONT, style, Path(matplotlib.get_data_path(), "fonts", "ttf", name))
    paper.set_title(words.marked(lot.head.origin, f"Labels of crate {lot.head.name}"))
    paper.set_lang("en")
    paper.set_auto_page_break(False)
    paper.set_margin(0)
    paper.c_margin = 0
    each = size.columns * size.rows
    for place, part in enumerate(lot.parts, start=skip % each):
        if place % each == 0 or not paper.page:
            paper.add_page()
        row, column = divmod(place % each, size.columns)
        _label(paper, size, (size.left + column * size.step_x, size.top + row * size.step_y), lot, part)
    return bytes(paper.output())


def _label(paper: FPDF, size: Labels, corner: tuple[float, float], lot: Lot, part: Placed) -> None:
    left, top = corner[0] + EDGE_MM, corner[1] + EDGE_MM / 2
    wide, high = size.wide - 2 * EDGE_MM, size.high - EDGE_MM
    if 0 < len(part.part) <= MOST_CODED:  # a part that was never tested has no id, and nothing would be found by a code
        qr_mm = min(high, LARGEST_QR_MM, 0.42 * size.wide)
        _qr(paper, part.part, left, top + (high - qr_mm) / 2, qr_mm)
        left, wide = left + qr_mm + 1, wide - qr_mm - 1
    y, lines = top, _lines(paper, lot, part, _letters(high), wide)
    for line, after in zip(lines, [*lines[1:], None], strict=True):
        step = line.pt * PT * LEADING
        last = after is not None and y + step + after.pt * PT * LEADING > top + high + 0.5
        paper.set_font(FONT, "B" if line.bold else "", line.pt)
        paper.set_xy(left, y)
        paper.cell(wide, step, _cut(paper, f"{line.text} …", wide) if last else line.text)
        if last:
            return
        y += step


def _qr(paper: FPDF, text: str, left: float, top: float, wide: float) -> None:
    """As squares, so that it stays sharp at any size."""
    matrix = segno.make(text, error="m", micro=False).matrix
    module = wide / (len(matrix) + 2 * QUIET)
    paper.set_fill_color(0)
    for y, row in enumerate(matrix):
        for x, dark in enumerate(row):
            if dark:
                paper.rect(left + (x + QUIET) * module, top + (y + QUIET) * module, module, module, style="F")


def _letters(high: float) -> tuple[float, float, float]:
    """Points of the number, of the bin and of the rest, for a label so high."""
    return (14.0, 7.5, 5.0) if high < 22 else (22.0, 11.0, 6.5) if high < 45 else (34.0, 15.0, 9.0)


def _lines(paper: FPDF, lot: Lot, part: Placed, pts: tuple[float, float, float], wide: float) -> list[Say]:
    """Number and bin large, then id and day, why it is not kept, and the figures."""
    number_pt, bin_pt, pt = pts
    lines = [
        Say(str(part.number), bold=True, pt=number_pt),
        Say(f"{SHAPES[part.bin]} {part.bin.upper()}", bold=True, pt=bin_pt),
    ]
    if mark := words.mark(lot.head.origin):
        lines.append(Say(mark, bold=True, pt=pt))
    paper.set_font(FONT, "", pt)
    why = part.reasons[0] if part.reasons and part.bin is not Bin.KEEP else ""
    about = (f"{part.part}  {part.at:%Y-%m-%d}".strip(), lot.head.name)
    reason = _filled(paper, signs(why).split(), " ", wide)
    if part.figures and len(reason) > MOST_REASON:
        reason = [*reason[: MOST_REASON - 1], f"{reason[MOST_REASON - 1]} …"]
    texts = [*_filled(paper, about, "  ", wide), *reason]
    texts += _filled(paper, [signs(one) for one in part.figures], ", ", wide)
    return lines + [Say(_cut(paper, harmless(text), wide), pt=pt) for text in texts]


def _filled(paper: FPDF, words: Iterable[str], between: str, wide: float) -> list[str]:
    """Words one after the other, as many on a line as fit; no more of them than the largest label could hold."""
    lines: list[str] = []
    room = MOST_LETTERS
    for word in words:
        if room <= 0:
            break
        word = word[:room]
        room -= len(word) + 1
        if lines and paper.get_string_width(lines[-1] + between + word) <= wide:
            lines[-1] += between + word
        else:
            lines.append(word)
    return lines


def _cut(paper: FPDF, text: str, wide: float) -> str:
    """A word that is too long for its line is cut, and shows it."""
    if len(text) <= 2 or paper.get_string_width(text) <= wide:
        return text
    keep = range(2, len(text) - 1)
    fit = bisect_right(keep, wide, key=lambda letters: paper.get_string_width(text[:letters] + "…"))
    return text[: 1 + fit] + "…"
