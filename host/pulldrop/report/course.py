"""The picture of one measurement over time: readings with their uncertainty, limit, slope, usual range, events; SVG.

Rule: no word of a user stands in a picture, and every picture of simulated runs says SIMULATED.
"""

import io
from collections.abc import Sequence
from datetime import datetime
from typing import Literal

import matplotlib
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num
from matplotlib.figure import Figure

from pulldrop.model.history.history import SeriesHealth
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.quantity import show
from pulldrop.model.signs import signs
from pulldrop.report.ink import FAINT, INK, MARK, WAVE, inline, plain

LETTERS = {
    PartEventKind.FITTED: "F",
    PartEventKind.REMOVED: "R",
    PartEventKind.CLEANED: "C",
    PartEventKind.MOVED: "M",
    PartEventKind.NOTE: "N",
}
"""Over the picture, where something happened to the part."""
SCALES = {"V": (1e3, "mV"), "s": (1e3, "ms"), "A": (1e3, "mA")}
"""Units in which small values are drawn."""


def svg(found: SeriesHealth, slope: tuple[float, float], events: Sequence[PartEvent], key: str, simulated: bool) -> str:
    """The picture as an `<svg>` element; `slope`: the median line at the first
    reading since the part was cleaned, and at the last."""
    says = f"{'SIMULATED. ' if simulated else ''}{found.series.title}: {len(found.series.points)} readings over time."
    return inline(_drawn(found, slope, events, simulated, "none"), key, says)


def on_paper(found: SeriesHealth, slope: tuple[float, float], events: Sequence[PartEvent], simulated: bool) -> str:
    """The picture as an SVG file whose letters are outlines, for paper."""
    return _drawn(found, slope, events, simulated, "path")


def _drawn(
    found: SeriesHealth, slope: tuple[float, float], events: Sequence[PartEvent], simulated: bool,
    letters: Literal["none", "path"],
) -> str:  # fmt: skip
    out = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": letters, "svg.hashsalt": "pulldrop", "font.size": 11}):
        figure = Figure(figsize=(4.6, 2.7))
        axes = figure.subplots(gridspec_kw=dict(left=0.15, right=0.97, top=0.82, bottom=0.13))
        _draw(axes, found, slope, events)
        if simulated:
            figure.text(0.56, 0.45, "SIMULATED", size=30, rotation=18, alpha=0.22, ha="center", va="center", color=INK)
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def _draw(axes: Axes, found: SeriesHealth, slope: tuple[float, float], events: Sequence[PartEvent]) -> None:
    series, points = found.series, found.series.points
    scale, unit = _scale(found)
    at = [_day(point.at) for point in points]
    values = [point.value * scale for point in points]
    axes.errorbar(
        at, values, [point.expanded * scale for point in points], fmt="o", color=WAVE, markersize=4, capsize=3,
        linewidth=1.2, zorder=3,
    )  # fmt: skip
    if found.chart is not None:
        axes.axhspan(found.chart.lower * scale, found.chart.upper * scale, color=FAINT, alpha=0.18, linewidth=0)
    if found.trend.way in ("rising", "falling"):
        axes.plot(
            [at[series.fresh], at[-1]], [one * scale for one in slope], color=INK, linewidth=1.2, linestyle=(0, (1, 2))
        )
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
        if event.kind not in LETTERS or not first - pad <= day <= last + pad:
            continue
        if days and day - days[-1] < pad / 2:  # side by side they would cover each other
            letters[-1] += LETTERS[event.kind]
        else:
            days.append(day)
            letters.append(LETTERS[event.kind])
    for day, written in zip(days, letters, strict=True):
        axes.axvline(day, color=FAINT, linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            written, (day, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 1), textcoords="offset points",
            ha="center", va="bottom", color=INK,
        )  # fmt: skip


def _scale(found: SeriesHealth) -> tuple[float, str]:
    """Thousandths where all readings are below one."""
    unit = found.series.unit
    if unit in SCALES and max(abs(point.value) for point in found.series.points) < 1:
        return SCALES[unit]
    return 1.0, unit
