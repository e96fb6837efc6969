"""How a picture becomes part of a page: its colours are the page's own, and nothing in it comes from anywhere else."""

import io
import re
from collections.abc import Callable
from typing import Literal

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure

INK, FAINT, WAVE, MARK = "#0a0001", "#0a0002", "#0a0003", "#0a0004"
COLOURS = {INK: "var(--ink)", FAINT: "var(--faint)", WAVE: "var(--pass)", MARK: "var(--fail)"}
"""Drawn with the first, replaced by the second: so the page's light or dark colours reach into the picture."""


Letters = Literal["none", "path"]
"""How letters are written: as text, for a page, or as outlines, for paper."""
SCALES = {"V": (1e3, "mV"), "s": (1e3, "ms"), "A": (1e3, "mA")}
"""Units in which small values are drawn."""


def drawn(draw: Callable[[Figure], None], size: tuple[float, float], font: float, mark: str, letters: Letters) -> str:
    """An SVG file of what `draw` puts into a figure of `size` (inches), `mark` across it."""
    out = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": letters, "svg.hashsalt": "pulldrop", "font.size": font}):
        figure = Figure(figsize=size)
        draw(figure)
        if mark:
            figure.text(
                0.56,
                0.5,
                mark,
                size=min(30, 270 / len(mark)),
                rotation=18,
                alpha=0.22,
                ha="center",
                va="center",
                color=INK,
            )
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def scale_of(unit: str, largest: float) -> tuple[float, str]:
    """Factor and unit to draw values with: thousandths where all are below one."""
    return SCALES[unit] if unit in SCALES and largest < 1 else (1.0, unit)


def plain(axes: Axes) -> None:
    """No box and no ground: two axes, in the page's ink."""
    axes.patch.set_visible(False)
    axes.figure.patch.set_visible(False)
    axes.tick_params(colors=INK, length=3)
    for side, spine in axes.spines.items():
        spine.set_color(FAINT)
        spine.set_visible(side in ("left", "bottom"))


def inline(drawn: str, key: str, says: str) -> str:
    """Only the element itself: no prologue, no metadata, no name space, ids of its own, sizes left to the page."""
    text = drawn[drawn.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>|<style.*?</style>|<!--.*?-->", "", text, flags=re.DOTALL)
    text = re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", text).replace("xlink:href", "href")
    text = re.sub(r'id="|href="#|url\(#', lambda found: f"{found[0]}{key}-", text)
    text = re.sub(r"font: (?:(bold) )?([\d.]+px)[^\";]*", _font, text)
    text = re.sub(r"font-family: [^;\"]*", "font-family: sans-serif", text)
    text = re.sub(r'<svg width="\S+" height="\S+"', f'<svg role="img" aria-label="{says}"', text, count=1)
    text = re.sub(r' style="([^"]*)"', lambda found: _attributes(found[1]), text)
    for drawn_with, colour in COLOURS.items():
        text = text.replace(drawn_with, colour)
    return text


def _font(found: re.Match[str]) -> str:
    """The short form, which matplotlib wrote before 3.11, has no attribute of its own."""
    return f"font-weight: {found[1] or 'normal'}; font-size: {found[2]}; font-family: sans-serif"


def _attributes(style: str) -> str:
    """`fill: none; opacity: 0.2` as attributes, which a page that allows no style within its text shows as well."""
    told = (one.partition(":") for one in style.split(";") if one.strip())
    return "".join(f' {name.strip()}="{value.strip()}"' for name, _, value in told)
