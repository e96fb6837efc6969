"""Whether a sheet can be read: boxes of its words, symbols and lines, and which of them lie on each other."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import ImageFont

if TYPE_CHECKING:
    from making.drawn.sheet import Sheet

Point = tuple[float, float]
Segment = tuple[Point, Point]
GAP = 0.15
"""Between words of one row, in grid units: a viewer's font may be wider than ours."""
BODY_WIDE = 0.3
"""Half the width of a two-legged symbol, in grid units."""
Box = tuple[str, float, float, float, float]


def _box(line: Segment, wide: float = 0.0) -> Box:
    (ax, ay), (bx, by) = line
    return ("", min(ax, bx) - wide, min(ay, by) - wide, max(ax, bx) + wide, max(ay, by) + wide)


def _body(line: Segment) -> Box:
    """A symbol between its two ends, as wide as it is drawn."""
    (ax, ay), (bx, by) = line
    wide_x, wide_y = (BODY_WIDE, 0.0) if ax == bx else (0.0, BODY_WIDE)
    return ("", min(ax, bx) - wide_x, min(ay, by) - wide_y, max(ax, bx) + wide_x, max(ay, by) + wide_y)


@cache
def _font() -> ImageFont.FreeTypeFont:
    """DejaVu Sans as matplotlib brings it: viewers show a font of about this width for "sans-serif"."""
    folder = find_spec("matplotlib")
    assert folder is not None and folder.origin is not None
    return ImageFont.truetype(str(Path(folder.origin).parent / "mpl-data/fonts/ttf/DejaVuSans.ttf"), 100)


def words_width(words: str, size: float) -> float:
    """Width of words in the unit of `size`."""
    return _font().getlength(words) * size / 100


def _overlap(one: Box, other: Box) -> bool:
    return one[1] < other[3] and other[1] < one[3] and one[2] < other[4] and other[2] < one[4]


def _across(one: Box, frame: Box) -> bool:
    """On the edge of a frame, neither inside nor outside."""
    inside = frame[1] <= one[1] and one[3] <= frame[3] and frame[2] <= one[2] and one[4] <= frame[4]
    return _overlap(one, frame) and not inside


def collisions(sheet: Sheet) -> list[str]:
    """What would be hard to read: words on words, words on lines, lines through parts."""
    found = []
    for n, one in enumerate(sheet.words):
        spaced = (one[0], one[1] - GAP, one[2], one[3] + GAP, one[4])
        found += [f"'{one[0]}' on '{other[0]}'" for other in sheet.words[n + 1 :] if _overlap(spaced, other)]
        found += [f"'{one[0]}' on a line at {line}" for line in sheet.stubs if _overlap(one, _box(line))]
        found += [f"'{one[0]}' on {ref}" for ref, body in sheet.bodies if _overlap(one, _body(body))]
        found += [f"'{one[0]}' across {ref}" for ref, frame in sheet.frames if _across(one, _box(frame))]
    solid = [
        *((ref, _body(body)) for ref, body in sheet.bodies),
        *((ref, _box(frame)) for ref, frame in sheet.frames),
    ]
    for n, (ref, one) in enumerate(solid):
        found += [f"{ref} on {other}" for other, its in solid[n + 1 :] if _overlap(one, its)]
    for ref, body in sheet.bodies:
        found += [f"a line {line} through {ref}" for line in sheet.lines if _overlap(_box(body), _box(line))]
    return found
