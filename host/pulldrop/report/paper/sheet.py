"""A sheet of paper: A4 as PDF/A with its letters embedded, tables that go on over pages, and a head and foot on each.

Rule: every page carries the mark of its origin, in its head and across the page; nothing is fetched from anywhere.
"""

import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

import matplotlib
from fpdf import FPDF
from fpdf.enums import MethodReturnValue, XPos, YPos
from fpdf.fonts import TTFFont
from PIL import Image

from pulldrop.model.wording.harmless import harmless
from pulldrop.report.pictures.ink import FAINT, INK, MARK, WAVE

FONT, FONTS = "DejaVu", {"": "DejaVuSans.ttf", "B": "DejaVuSans-Bold.ttf"}
"""Comes with matplotlib, which is there anyway; has Greek, Cyrillic, umlauts, and the shapes beside the verdicts."""
COLOURS = {"ink": (20, 24, 29), "faint": (90, 100, 110), "pass": (11, 74, 138), "fail": (154, 61, 0)}
ON_PAPER = {INK: "#14181d", FAINT: "#6b7580", WAVE: "#0b4a8a", MARK: "#9a3d00"}
SHAPES = {
    "tick": "✔", "cross": "✘", "question": "?", "hollow": "○", "dot": "•", "gap": "▌▐", "alarm": "⚠", "stop": "⊖",
    "aside": "→",
}  # fmt: skip
PALE = (196, 203, 209)
MARGIN_MM, FOOT_MM, THIN_MM, DRAWN_GAP_MM = 15.0, 14.0, 0.1, 4.0
PT = 25.4 / 72
MOST_LETTERS = 1500
"""A longer text in one place is cut, and says so: a row must fit on a page."""
Tone = Literal["ink", "faint", "pass", "fail"]


@dataclass(frozen=True, slots=True)
class Say:
    """Words in one style; `pt` is the size of the letters."""

    text: str
    bold: bool = False
    tone: Tone = "ink"
    pt: float = 8.5


@dataclass(frozen=True, slots=True)
class Column:
    """`share` of the width; its heading, and where its words stand."""

    heading: str
    share: float
    align: Literal["L", "C", "R"] = "L"


Row = Sequence[Sequence[Say]]
"""One cell for each column; a cell is some lines."""


class Sheet(FPDF):
    """`foot` stands at the foot of every page, with its number; see `marks` for its head."""

    def __init__(self, title: str, foot: str, made: datetime) -> None:
        super().__init__(enforce_compliance="PDF/A-2U")
        for style, name in FONTS.items():
            self.add_font(FONT, style, Path(matplotlib.get_data_path(), "fonts", "ttf", name))
        self._mark, self._banner, self._foot = "", "", foot
        self._highs: dict[tuple[Say, float], float] = {}
        self.set_title(title)
        self.set_lang("en")
        self.set_creation_date(made)  # when the run ended; the time of printing is its modification
        self.set_margins(MARGIN_MM, MARGIN_MM)
        self.set_auto_page_break(True, MARGIN_MM + FOOT_MM / 2)
        self._set(Say(""))

    def header(self) -> None:
        """On every page, before anything else."""
        if not self._mark:
            return
        self._across()
        self._set(Say("", bold=True, pt=12))
        wide = self.get_string_width(self.known(self._banner))
        self._set(Say("", bold=True, pt=12 * min(1.0, (self.epw - 4) / wide)))
        self.set_draw_color(*COLOURS["ink"])
        self.set_line_width(0.5)
        self.cell(self.epw, 7, self.known(self._banner), border=1, align="C", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(3)

    def marks(self, mark: str, banner: str) -> None:
        """The mark of what follows, across each page, and what its head says; none where both are empty."""
        self._mark, self._banner = mark, banner

    def _across(self) -> None:
        self._set(Say("", bold=True, pt=min(64, 640 / len(self._mark))))
        self.set_text_color(236, 238, 240)
        with self.rotation(52, self.w / 2, self.h / 2):
            self.set_xy(0, self.h / 2 - 12)
            self.cell(self.w, 24, self._mark, align="C")
        self.set_xy(self.l_margin, MARGIN_MM)

    def footer(self) -> None:
        """On every page, after everything else."""
        self.set_y(-FOOT_MM)
        self._set(Say("", tone="faint", pt=7))
        self.cell(self.epw - 25, 4, self.known(self._foot))
        self.cell(25, 4, f"page {self.page_no()} of {{nb}}", align="R")

    def drawing_mm(self, shape: float, beside: int = 2) -> float:
        """How high pictures `beside` each other stand, with some lines under them."""
        return self._drawing_wide(beside) * shape + 16

    def _drawing_wide(self, beside: int) -> float:
        return (self.epw - DRAWN_GAP_MM * (beside - 1)) / beside

    def known(self, text: str) -> str:
        """The text as the letters can show it: a character that they lack becomes a mark, and too many are cut."""
        text = harmless(text.replace("\t", " "))
        if len(text) > MOST_LETTERS:
            text = text[:MOST_LETTERS] + " ... (cut here)"
        font = self.fonts[FONT.lower()]
        letters = font.cmap if isinstance(font, TTFFont) else {}
        return "".join(c if c == "\n" or ord(c) in letters else "\N{REPLACEMENT CHARACTER}" for c in text)

    def say(self, one: Say, gap_mm: float = 0.8) -> None:
        """A paragraph over the whole width, on one page."""
        self.room(self._high(one, self.epw))
        self._words(one, self.epw, "L")
        self.ln(gap_mm)

    def heading(self, text: str) -> None:
        """The heading of a part of the page; never alone at its end."""
        self.room(38)
        self.ln(3)
        self.say(Say(text, bold=True, pt=11))

    def room(self, need_mm: float) -> None:
        """Go on to a new page when this one has less left."""
        if self.will_page_break(need_mm):
            self.add_page()

    def listing(self, columns: Sequence[Column], rows: Sequence[Row], marked: Sequence[int] = ()) -> None:
        """Rows are never torn apart, and the headings stand above them on every page; `marked` rows have a ground."""
        head: Row = [[Say(column.heading, bold=True, pt=8)] for column in columns]
        if rows:
            self.room(self._tall(columns, head) + self._tall(columns, rows[0]))
        self.row(columns, head, line=0.4)
        for index, row in enumerate(rows):
            if self.will_page_break(self._tall(columns, row)):
                self.add_page()
                self.row(columns, head, line=0.4)
            self.row(columns, row, ground=index in marked)
        self.ln(2)

    def pairs(self, rows: Sequence[tuple[str, str]], share: float = 0.2) -> None:
        """Names at the left, what they stand for at the right."""
        columns = (Column("", share), Column("", 1 - share))
        for name, text in rows:
            row: Row = [[Say(name, bold=True)], [Say(text)]]
            self.room(self._tall(columns, row))
            self.row(columns, row)

    def drawings(self, drawn: Sequence[tuple[str, str]], shape: float, beside: int = 2) -> None:
        """Pictures of ours (SVG, letters as outlines) with words under them, so many `beside` each other.

        `shape`: how high a picture is for its width.
        """
        wide = self._drawing_wide(beside)
        for start in range(0, len(drawn), beside):
            pair = drawn[start : start + beside]
            row: Row = [[Say(caption, tone="faint", pt=7)] for _, caption in pair]
            columns = (Column("", 1 / beside),) * len(pair)
            self.room(wide * shape + self._tall(columns, row) + 4)
            self.ln(2)
            for index, (svg, _) in enumerate(pair):
                self._picture(svg, self.l_margin + index * (wide + DRAWN_GAP_MM), wide)
            self.set_xy(self.l_margin, self.y + wide * shape + 1)
            self.row(columns, row)

    def photo(self, content: bytes, says: str, most_mm: float = 90.0) -> None:
        """A photo as a person gave it, and what it shows; one that cannot be read is named only."""
        try:
            with warnings.catch_warnings(action="error"), Image.open(io.BytesIO(content)) as opened:
                picture = opened.convert("RGB")
        except Exception:  # a decoder raises whatever a damaged picture makes it meet
            self.say(Say(f"A photo that cannot be read: {says}", tone="faint"))
            return
        scale = min(most_mm / picture.width, most_mm / picture.height)
        self.room(picture.height * scale + 8)
        self.image(picture, x=self.l_margin, y=self.y, w=picture.width * scale)
        self.set_y(self.y + picture.height * scale + 1)
        self.say(Say(says, tone="faint", pt=7), 3)

    def _picture(self, svg: str, left_mm: float, wide_mm: float) -> None:
        top, text = self.y, svg[svg.index("<svg") :]
        text = text[: text.index("<metadata>")] + text[text.index("</metadata>") + len("</metadata>") :]
        for drawn_with, colour in ON_PAPER.items():
            text = text.replace(drawn_with, colour)
        self.image(io.BytesIO(text.encode()), x=left_mm, y=top, w=wide_mm)
        self.set_xy(self.l_margin, top)

    def _set(self, one: Say) -> None:
        self.set_font(FONT, "B" if one.bold else "", one.pt)
        self.set_text_color(*COLOURS[one.tone])

    def _words(self, one: Say, wide_mm: float, align: str) -> None:
        self._set(one)
        self.multi_cell(
            wide_mm, one.pt * PT * 1.3, self.known(one.text), align=align, new_x=XPos.LEFT, new_y=YPos.NEXT, padding=0
        )

    def _high(self, one: Say, wide_mm: float) -> float:
        """Breaking lines takes most of a sheet's time, and each row is asked more than once how high it is."""
        if (one, wide_mm) not in self._highs:
            self._set(one)
            text = self.known(one.text)
            self._highs[one, wide_mm] = float(
                self.multi_cell(wide_mm, one.pt * PT * 1.3, text, dry_run=True, output=MethodReturnValue.HEIGHT)  # type: ignore[arg-type]
            )
        return self._highs[one, wide_mm]

    def _tall(self, columns: Sequence[Column], row: Row) -> float:
        cells = zip(columns, row, strict=True)
        return 2.4 + max(sum(self._high(one, self._wide(column)) for one in cell) for column, cell in cells)

    def _wide(self, column: Column) -> float:
        return column.share * self.epw - 2

    def row(self, columns: Sequence[Column], row: Row, line: float = THIN_MM, ground: bool = False) -> None:
        top, tall, left = self.y, self._tall(columns, row), self.l_margin
        if ground:
            self.set_fill_color(246, 240, 234)
            self.rect(self.l_margin, top, self.epw, tall, style="F")
        for column, cell in zip(columns, row, strict=True):
            self.set_xy(left + 1, top + 1.2)
            for one in cell:
                self._words(one, self._wide(column), column.align)
            left += column.share * self.epw
        self.set_draw_color(*(COLOURS["ink"] if line > THIN_MM else PALE))
        self.set_line_width(line)
        rule = top + tall - line / 2  # within its own row, where the next one's ground does not cover it
        self.line(self.l_margin, rule, self.l_margin + self.epw, rule)
        self.set_xy(self.l_margin, top + tall)
