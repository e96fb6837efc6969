"""The picture of one measurement over time: readings with their uncertainty, limit, slope, usual range, events; SVG.

Rule: no word of a user stands in a picture, and every picture carries the mark of its origin.
"""

from collections.abc import Sequence
from datetime import datetime

from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num
from matplotlib.figure import Figure

from pulldrop.model.history.history import SeriesHealth
from pulldrop.model.part.event import PartEvent
from pulldrop.model.quantity import show
from pulldrop.model.wording.signs import signs
from pulldrop.model.wording.words import EVENT_LETTERS
from pulldrop.report.pictures.ink import FAINT, INK, MARK, WAVE, Letters, drawn, inline, plain, scale_of


def svg(found: SeriesHealth, events: Sequence[PartEvent], key: str, mark: str) -> str:
    """The picture as an `<svg>` element."""
    says = f"{f'{mark}. ' if mark else ''}{found.series.title}: {len(found.series.points)} readings over time."
    return inline(file(found, events, mark, "none"), key, says)


def file(found: SeriesHealth, events: Sequence[PartEvent], mark: str, letters: Letters = "path") -> str:
    """The picture as an SVG file."""

    def draw(figure: Figure) -> None:
        margins = dict(left=0.15, right=0.97, top=0.82, bottom=0.13)
        _draw(figure.subplots(gridspec_kw=margins), found, events)

    return drawn(draw, (4.6, 2.7), 11, mark, letters)


def _draw(axes: Axes, found: SeriesHealth, events: Sequence[PartEvent]) -> None:
    series, points = found.series, found.series.points
    scale, unit = scale_of(series.unit, max(abs(point.value) for point in points))
    at = [_day(point.at) for point in points]
    values = [point.value * scale for point in points]
    axes.errorbar(
        at, values, [point.expanded * scale for point in points], fmt="o", color=WAVE, markersize=4, capsize=3,
        linewidth=1.2, zorder=3,
    )  # fmt: skip
    if found.chart is not None:
        axes.axhspan(found.chart.lower * scale, found.chart.upper * scale, color=FAINT, alpha=0.18, linewidth=0)
    if found.trend.way in ("rising", "falling"):
        ends = [one * scale for one in found.line]
        axes.plot([at[series.fresh], at[-1]], ends, color=INK, linewidth=1.2, linestyle=(0, (1, 2)))
    low, high = axes.get_ylim()
    for limit in (series.low, series.high):
        if limit is not None and low - 2 * (high - low) <= limit * scale <= high + 2 * (high - low):
            axes.axhline(limit * scale, color=MARK, linewidth=1.6, linestyle=(0, (5, 2)))
            axes.annotate(
                signs(f"limit {show(limit, series.unit)}"), (0.99, limit * scale), xycoords=("axes fraction", "data"),
                xytext=(0, 3), textcoords="offset points", ha="right", color=INK, weight="bold",
            )  # fmt: skip
    axes.margins(y=0.12)
    axes.set_title(signs(f"{series.title}, {unit}" if unit else series.title), loc="left", y=1.1, size=11, color=INK)
    _mark(axes, found, events)
    locator = AutoDateLocator(minticks=3, maxticks=6)  # type: ignore[no-untyped-call]  # matplotlib types no dates
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator, show_offset=False))  # type: ignore[no-untyped-call]
    plain(axes)


def _day(at: datetime) -> float:
    """A moment as matplotlib's dates count it: days."""
    return float(date2num(at))  # type: ignore[no-untyped-call]  # matplotlib types no dates


def _mark(axes: Axes, found: SeriesHealth, events: Sequence[PartEvent]) -> None:
    first, last = _day(found.series.points[0].at), _day(found.series.points[-1].at)
    pad = max((last - first) * 0.04, 3.0)
    axes.set_xlim(first - pad, last + pad)
    days: list[float] = []
    letters: list[str] = []
    for event in events:
        day = _day(event.at)
        if event.kind not in EVENT_LETTERS or not first - pad <= day <= last + pad:
            continue
        if days and day - days[-1] < pad / 2:  # side by side they would cover each other
            letters[-1] += EVENT_LETTERS[event.kind]
        else:
            days.append(day)
            letters.append(EVENT_LETTERS[event.kind])
    for day, written in zip(days, letters, strict=True):
        axes.axvline(day, color=FAINT, linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            written, (day, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 1), textcoords="offset points",
            ha="center", va="bottom", color=INK,
        )  # fmt: skip
