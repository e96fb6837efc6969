"""Labels for a crate's parts as PDF: number, bin, key figures and a QR code of the part's id.

Rule: what does not fit is left out from the end, figures first, never number, mark of origin, or a part of the reason.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable
from pathlib import Path

import matplotlib
import segno
from fpdf import FPDF

from pulldrop.model.crate.crate import Bin, Placed
from pulldrop.model.crate.lot import Lot
from pulldrop.model.wording import words
from pulldrop.model.wording.harmless import harmless
from pulldrop.model.wording.signs import signs
from pulldrop.report.paper.label_sizes import Labels
from pulldrop.report.paper.sheet import FONT, FONTS, PT, Say

EDGE_MM = 2.5
"""Kept free inside a label: printers and paper are off by a millimetre or two."""
SHAPES = {Bin.KEEP: "✔", Bin.LIGHT_DUTY: "⊘", Bin.SCRAP: "✘", Bin.LOOK_AGAIN: "?"}
QUIET = 4
"""Light modules around a QR code (ISO/IEC 18004, 5.3.8)."""
LARGEST_QR_MM, SMALL_MM = 26.0, 40.0
MOST_CODED = 40
"""Letters of an id in a code, twice those of any part here: more of them are too fine to read at this size."""
LEADING = 1.2
MOST_LETTERS = 4000
"""Of one text: more than the largest label holds, in the smallest letters."""
PRINTER_MM = 5.0
"""From the rim of a sheet: what common printers leave white (from memory, 4 to 5 mm)."""
SCALES = (1.0, 0.9, 0.8, 0.7, 0.6)
LEAST_PT = 4.5
"""Smaller letters are read by nobody in a workshop."""


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
    left, top, right, bottom = _inside(size, corner)
    wide, high = right - left, bottom - top
    if 0 < len(part.part) <= MOST_CODED:  # a part that was never tested has no id, and nothing would be found by a code
        qr_mm = min(high, LARGEST_QR_MM, (0.42 if size.wide > SMALL_MM else 0.34) * size.wide)
        _qr(paper, part.part, left, top + (high - qr_mm) / 2, qr_mm)
        left, wide = left + qr_mm + 1, wide - qr_mm - 1
    y, lines = top, _fitting(paper, lot, part, wide, high)
    for line, after in zip(lines, [*lines[1:], None], strict=True):
        step = line.pt * PT * LEADING
        last = after is not None and y + step + after.pt * PT * LEADING > top + high + 0.5
        paper.set_font(FONT, "B" if line.bold else "", line.pt)
        paper.set_xy(left, y)
        paper.cell(wide, step, _cut(paper, f"{line.text} …", wide) if last else line.text)
        if last:
            return
        y += step


def _inside(size: Labels, corner: tuple[float, float]) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of what may be printed, mm: inside the label, and where a common printer reaches."""
    across, down = size.page if size.columns * size.rows > 1 else (math.inf, math.inf)  # a roll has no rim
    rim = PRINTER_MM if size.columns * size.rows > 1 else 0.0
    return (
        max(corner[0] + EDGE_MM, rim),
        max(corner[1] + EDGE_MM / 2, rim),
        min(corner[0] + size.wide - EDGE_MM, across - rim),
        min(corner[1] + size.high - EDGE_MM / 2, down - rim),
    )


def _fitting(paper: FPDF, lot: Lot, part: Placed, wide: float, high: float) -> list[Say]:
    """The lines in the largest letters in which the whole reason and the first figure stand, or else the reason;
    further figures as far as there is room.
    """
    room = high + 0.5

    def tall(lines: list[Say]) -> float:
        return sum(line.pt * PT * LEADING for line in lines)

    number_pt, bin_pt, pt = _letters(high)
    made = []
    for scale in SCALES:
        pts = (number_pt * scale, bin_pt * scale, max(pt * scale, LEAST_PT))
        made.append(_lines(paper, lot, part, pts, wide, brief=scale == SCALES[-1]))
    whole = [one for one in made if tall([*one[0], *one[1][:1]]) <= room]
    must, figures = (*whole, *(one for one in made if tall(one[0]) <= room), made[-1])[0]
    left_out = False
    while figures and tall([*must, *figures]) > room:
        figures.pop()
        left_out = True
    if figures and left_out:
        last = figures[-1]
        paper.set_font(FONT, "", last.pt)
        figures[-1] = Say(_cut(paper, f"{last.text} …", wide), pt=last.pt)
    return [*must, *figures]


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


def _lines(
    paper: FPDF, lot: Lot, part: Placed, pts: tuple[float, float, float], wide: float, brief: bool
) -> tuple[list[Say], list[Say]]:
    """Number and bin large, id and day, all of why it is not kept, or by which form it is, and what it was not tested
    for; apart from them the figures; `brief`: no day.
    """
    number_pt, bin_pt, pt = pts
    lines = [
        Say(str(part.number), bold=True, pt=number_pt),
        Say(f"{SHAPES[part.bin]} {part.bin.upper()}", bold=True, pt=bin_pt),
    ]
    if mark := words.mark(lot.head.origin):
        lines.append(Say(mark, bold=True, pt=pt))
    paper.set_font(FONT, "", pt)
    why = part.reasons[0] if part.reasons and (part.bin is not Bin.KEEP or part.reasons[1:]) else ""
    said = (why, f"not tested: {part.untested}" if part.untested else "")
    about = (part.part,) if brief else (f"{part.part}  {part.at:%Y-%m-%d}".strip(), lot.head.name)
    texts = _filled(paper, about, "  ", wide)
    texts += [line for one in said for line in _filled(paper, signs(one).split(), " ", wide)]
    figures = _filled(paper, [signs(one) for one in part.figures], ", ", wide)
    must, more = ([Say(_cut(paper, harmless(text), wide), pt=pt) for text in some] for some in (texts, figures))
    return lines + must, more


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
