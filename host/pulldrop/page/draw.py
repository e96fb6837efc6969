"""The coil's current and both throws as numbers of a drawing: points and bars in its own units; arithmetic only."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from pulldrop.model.crate.crate import CoilPicture

WIDTH, HEIGHT = 400.0, 160.0
"""Units of the current's part of the drawing."""
POINTS = 240
"""More than a phone can show side by side."""
ROUND_MA = (20, 50, 100, 150, 200, 300, 500)
THROWS = ("NO", "NC")
NAMES = {"NO": "87", "NC": "87a"}


@dataclass(frozen=True, slots=True)
class Bar:
    """While a throw was closed: from `x`, `width` wide."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Lane:
    """One throw: its blade, and its bars."""

    name: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """`points` as SVG writes them; `top_ma` at the upper edge, `end_ms` at the right one; `says` is for ears."""

    points: str
    lanes: tuple[Lane, ...]
    top_ma: int
    end_ms: float
    says: str


def drawing(picture: CoilPicture) -> Drawing | None:
    """None when there is nothing to draw."""
    if len(picture.time_s) < 2 or picture.time_s[-1] <= 0:
        return None
    end_s = picture.time_s[-1]
    largest_ma = 1000 * max(picture.current_a)
    top_ma = next((one for one in ROUND_MA if one >= largest_ma), round(largest_ma) + 1)
    lanes = tuple(Lane(NAMES[throw], tuple(_bars(picture, throw, end_s))) for throw in THROWS)
    says = f"Coil current over {1000 * end_s:.0f} ms, up to {largest_ma:.0f} mA. {_edges_in_words(picture)}"
    return Drawing(_points(picture, end_s, top_ma), lanes, top_ma, 1000 * end_s, says)


def _points(picture: CoilPicture, end_s: float, top_ma: int) -> str:
    stride = max(1, len(picture.time_s) // POINTS)
    at = list(zip(picture.time_s, picture.current_a, strict=True))[::stride]
    return " ".join(
        f"{WIDTH * time / end_s:.1f},{HEIGHT * (1 - max(0.0, 1000 * amps / top_ma)):.1f}" for time, amps in at
    )


def _bars(picture: CoilPicture, throw: str, end_s: float) -> Sequence[Bar]:
    """A throw whose first edge opens was closed before."""
    edges = [(at, closed) for at, name, closed in picture.edges if name == throw]
    if not edges:
        return ()
    whole = [(0.0, not edges[0][1]), *edges, (end_s, False)]
    return [
        Bar(round(WIDTH * start / end_s, 1), round(WIDTH * (end - start) / end_s, 1))
        for (start, closed), (end, _) in pairwise(whole)
        if closed and end > start
    ]


def _edges_in_words(picture: CoilPicture) -> str:
    told = [
        f"{NAMES[name]} {'closes' if closed else 'opens'} at {1000 * at:.1f} ms" for at, name, closed in picture.edges
    ]
    if not told:
        return "No contact moved."
    more = f", and {len(told) - 3} more" if len(told) > 3 else ""
    return f"{', '.join(told[:3])}{more}."
