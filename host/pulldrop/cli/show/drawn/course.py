"""A series over time in plain ASCII: readings with their uncertainty, the limit, the slope, and what happened below.

Rule: no colour, and no letter outside ASCII but the blocks of `heights` where a terminal has them.
"""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from rich.console import Console

from pulldrop.model.history.history import SeriesHealth
from pulldrop.model.part.event import PartEvent
from pulldrop.model.quantity import show
from pulldrop.model.wording import words

COLUMNS, ROWS, LEFT = 60, 9, 11
DIGITS, BLOCKS = "0123456789", "\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"
LEGEND = f"o reading, | uncertainty, . slope, = limit; {words.EVENT_LEGEND}"


def blocks(out: Console) -> bool:
    """Whether a series is drawn in blocks: on a terminal of UTF-8; everywhere else in digits."""
    return out.is_terminal and not out.is_dumb_terminal and out.encoding.startswith("utf")


def heights(values: Sequence[float], blocks: bool = False) -> str:
    """One block or digit a reading, from the lowest of them to the highest."""
    low, high = min(values), max(values)
    steps = BLOCKS if blocks else DIGITS
    most = len(steps) - 1
    return "".join(steps[round(most * (value - low) / (high - low))] if high > low else "-" for value in values)


def steps(out: Console) -> str:
    """What the signs of `heights` mean."""
    return f"{BLOCKS[0]} the lowest, {BLOCKS[-1]} the highest" if blocks(out) else "0 the lowest, 9 the highest"


def lines(found: SeriesHealth, events: Sequence[PartEvent], width: int = LEFT + COLUMNS) -> list[str]:
    """The picture of one series, `width` letters wide at most; empty with fewer than two readings."""
    points = found.series.points
    if len(points) < 2:
        return []
    columns = max(min(width - LEFT, COLUMNS), 16)
    low, high = _range(found)
    begun, ended = points[0].at, points[-1].at
    took = (ended - begun) or timedelta(days=1)
    field = [[" "] * columns for _ in range(ROWS)]

    def column(at: datetime) -> int:
        return min(max(round((at - begun) / took * (columns - 1)), 0), columns - 1)

    def row(value: float) -> int:
        return min(max(round((value - low) / (high - low) * (ROWS - 1)), 0), ROWS - 1)

    for limit in (found.series.low, found.series.high):
        if limit is not None and low <= limit <= high:
            field[row(limit)] = ["="] * columns
    if found.trend.way in ("rising", "falling"):
        begins, (first, last) = column(points[found.series.fresh].at), found.line
        for place in range(begins, columns):
            value = first + (last - first) * (place - begins) / max(columns - begins - 1, 1)
            if low <= value <= high:
                field[row(value)][place] = "."
    for point in points:
        for at in range(row(point.value - point.expanded), row(point.value + point.expanded) + 1):
            field[at][column(point.at)] = "|"
    for point in points:
        field[row(point.value)][column(point.at)] = "o"
    labels = {ROWS - 1: show(high, found.series.unit), 0: show(low, found.series.unit)}
    drawn = [labels.get(at, "").rjust(LEFT - 1) + "|" + "".join(field[at]).rstrip() for at in range(ROWS - 1, -1, -1)]
    return [
        *drawn,
        *_happened(events, column, columns),
        " " * LEFT + f"{begun:%Y-%m}" + f"{ended:%Y-%m}".rjust(columns - 7),
    ]


def _range(found: SeriesHealth) -> tuple[float, float]:
    """All readings with their uncertainty; a limit too when it is not so far that it would flatten them."""
    points = found.series.points
    low = min(point.value - point.expanded for point in points)
    high = max(point.value + point.expanded for point in points)
    reach = high - low or abs(high) or 1.0
    for limit in (found.series.low, found.series.high):
        if limit is not None and low - 1.5 * reach <= limit <= high + 1.5 * reach:
            low, high = min(low, limit), max(high, limit)
    return (low, high) if high > low else (low - reach, high + reach)


def _happened(events: Sequence[PartEvent], column: Callable[[datetime], int], columns: int) -> list[str]:
    line = [" "] * columns
    for event in events:
        if event.kind in words.EVENT_LETTERS:
            free = next((at for at in range(column(event.at), columns) if line[at] == " "), columns - 1)
            line[free] = words.EVENT_LETTERS[event.kind]
    return [" " * LEFT + "".join(line).rstrip()] if any(c != " " for c in line) else []
