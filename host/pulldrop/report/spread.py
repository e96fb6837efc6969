"""The picture of one measurement over a crate: how many parts have which value, with the limit; as inline SVG.

Rule: usable parts and the others differ by hatching as well as by colour; what lies far out is counted at the edge.
"""

import io

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from pulldrop.model.crate.lot import ValueSpread
from pulldrop.model.quantity import show
from pulldrop.report.ink import INK, MARK, WAVE, inline, plain

BARS = 24
SCALES = {"V": (1e3, "mV"), "s": (1e3, "ms"), "A": (1e3, "mA")}


def svg(spread: ValueSpread, key: str, simulated: bool) -> str:
    """The picture as an `<svg>` element; `key` keeps its ids apart from those of other pictures in the page."""
    out = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "pulldrop", "font.size": 9}):
        figure = Figure(figsize=(4.2, 2.3))
        axes = figure.subplots(gridspec_kw=dict(left=0.1, right=0.97, top=0.84, bottom=0.2))
        _draw(axes, spread)
        if simulated:
            figure.text(0.54, 0.5, "SIMULATED", size=26, rotation=12, alpha=0.2, ha="center", va="center", color=INK)
        figure.savefig(out, format="svg", metadata={"Date": None})
    says = f"{'SIMULATED. ' if simulated else ''}{spread.title}: {len(spread.values)} parts by value."
    return inline(out.getvalue(), key, says)


def shown(spread: ValueSpread) -> tuple[float, float]:
    """From where to where the axis goes: the usable parts and the limit, with room; all parts where none is usable."""
    usable = [one.value for one in spread.values if one.usable] or [one.value for one in spread.values]
    limit = spread.limit
    bounds = [one for one in (limit.low, limit.high) if one is not None] if limit else []
    low, high = min(*usable, *bounds, usable[0]), max(*usable, *bounds, usable[0])
    pad = 0.15 * (high - low) or 0.1 * abs(high) or 1.0
    return (max(low - pad, 0.0) if low >= 0 else low - pad), high + pad


def counts(spread: ValueSpread, usable: bool) -> list[int]:
    """Parts in each bar, from the left; the first and the last hold what lies beyond as well."""
    low, high = shown(spread)
    found = [0] * BARS
    for one in spread.values:
        if one.usable is usable:
            found[min(max(int((one.value - low) / (high - low) * BARS), 0), BARS - 1)] += 1
    return found


def _draw(axes: Axes, spread: ValueSpread) -> None:
    low, high = shown(spread)
    scale, unit = SCALES[spread.unit] if spread.unit in SCALES and high < 1 else (1.0, spread.unit)
    step = (high - low) / BARS * scale
    left = [low * scale + index * step for index in range(BARS)]
    good, other = counts(spread, True), counts(spread, False)
    axes.bar(left, good, width=step * 0.92, align="edge", color=WAVE)
    axes.bar(left, other, width=step * 0.92, align="edge", bottom=good, color="none", edgecolor=INK, hatch="////",
             linewidth=0.6)  # fmt: skip
    axes.set_xlim(low * scale, high * scale)
    axes.set_ylim(0, 1.25 * max(a + b for a, b in zip(good, other, strict=True)))
    _limits(axes, spread, scale)
    _beyond(axes, spread, (low, high))
    axes.set_title(f"{spread.title}, {unit}" if unit else spread.title, loc="left", size=9, color=INK, y=1.02)
    axes.yaxis.set_major_locator(MaxNLocator(4, integer=True))
    plain(axes)


def _limits(axes: Axes, spread: ValueSpread, scale: float) -> None:
    if spread.limit is None:
        return
    for limit, word, side in ((spread.limit.low, "least", "left"), (spread.limit.high, "most", "right")):
        if limit is not None:
            axes.axvline(limit * scale, color=MARK, linewidth=1.6, linestyle=(0, (5, 2)))
            axes.annotate(
                f"{word} {show(limit, spread.limit.unit)}", (limit * scale, 0.98), xycoords=("data", "axes fraction"),
                xytext=(3 if side == "left" else -3, 0), textcoords="offset points", ha=side, va="top", color=INK,
                weight="bold",
            )  # fmt: skip


def _beyond(axes: Axes, spread: ValueSpread, edges: tuple[float, float]) -> None:
    """How many parts lie outside the picture; they stand in its first and last bar."""
    below = sum(one.value < edges[0] for one in spread.values)
    above = sum(one.value > edges[1] for one in spread.values)
    told = [text for count, text in ((below, f"← {below}"), (above, f"{above} →")) if count]
    if told:
        axes.set_title(f"further out: {', '.join(told)}", loc="right", size=8, color=INK, y=1.02)
