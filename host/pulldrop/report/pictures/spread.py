"""The picture of one measurement over a crate: how many parts have which value, with the limit; as inline SVG.

Rule: usable parts and the others differ by hatching as well as by colour; what lies far out is counted at the edge.
"""

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from pulldrop.model.crate.lot import ValueSpread
from pulldrop.model.quantity import show
from pulldrop.report.pictures.ink import INK, MARK, WAVE, drawn, inline, plain, scale_of

BARS = 24


def svg(spread: ValueSpread, key: str, mark: str) -> str:
    """The picture as an `<svg>` element; `key` keeps its ids apart from those of other pictures in the page."""

    def draw(figure: Figure) -> None:
        _draw(figure.subplots(gridspec_kw=dict(left=0.1, right=0.97, top=0.84, bottom=0.2)), spread)

    says = f"{f'{mark}. ' if mark else ''}{spread.title}: {len(spread.values)} parts by value."
    return inline(drawn(draw, (4.2, 2.3), 9, mark, "none"), key, says)


def shown(spread: ValueSpread) -> tuple[float, float]:
    """Both ends of the axis: the usable parts and the limit, with room; all parts where none is usable."""
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
    scale, unit = scale_of(spread.unit, high)
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
