"""Sizes of labels in millimetres, each named by the width and height of one label.

Rule: only geometry; a size of your own is one line more.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Labels:
    """`wide` x `high` is one label; `left`, `top` the margins of the page; `step_x`, `step_y` from label to label."""

    name: str
    page: tuple[float, float]
    columns: int
    rows: int
    wide: float
    high: float
    left: float
    top: float
    step_x: float
    step_y: float


A4 = (210.0, 297.0)
SIZES = {
    one.name: one
    for one in (
        Labels("70x37", A4, 3, 8, 70.0, 37.0, 0.0, 0.5, 70.0, 37.0),
        Labels("63.5x38.1", A4, 3, 7, 63.5, 38.1, 7.2, 15.15, 66.04, 38.1),
        Labels("38.1x21.2", A4, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6, 21.2),
        Labels("105x57", A4, 2, 5, 105.0, 57.0, 0.0, 6.0, 105.0, 57.0),
        Labels("62x40", (62.0, 40.0), 1, 1, 62.0, 40.0, 0.0, 0.0, 62.0, 40.0),
    )
}
"""Common practice of labels on A4. 62x40 is one label a page, for a printer with a roll."""
