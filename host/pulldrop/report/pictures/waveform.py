"""The picture of one coil step: coil current, and under it both throws on the same time axis, as inline SVG.

Rule: no word of a user stands in a picture, and every picture carries the mark of its origin.
"""

from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from pulldrop.model.bench.calibration import Channel
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact
from pulldrop.report.pictures.ink import FAINT, INK, MARK, WAVE, Letters, drawn, inline, plain

TICKS_PER_MS = TICKS_PER_S / 1000

LANES = {Contact.NO: ("87 (NO)", 1.0), Contact.NC: ("87a (NC)", 0.0)}


@dataclass(frozen=True, slots=True)
class Scene:
    """What to draw. `amps` converts current samples; `mark_ms` is where the time named `mark` ends;
    `also` are further moments with their names, in ms; `across`: the mark of the run's origin."""

    capture: Capture
    amps: Channel
    throws: tuple[Contact, ...]
    says: str
    mark: str = ""
    mark_ms: float | None = None
    also: tuple[tuple[str, float], ...] = ()
    across: str = "SIMULATED"


def closed_spans(capture: Capture, throw: Contact, end_ms: float) -> list[tuple[float, float]]:
    """From when to when, in ms after the step, one throw was closed; the last span ends at `end_ms`."""
    spans, since = [], 0.0 if throw in capture.contacts_before else None
    for edge in capture.edges:
        at_ms = edge.tick / TICKS_PER_MS
        if edge.contact != throw or at_ms > end_ms:
            continue
        if edge.closed and since is None:
            since = at_ms
        elif not edge.closed and since is not None:
            spans.append((since, at_ms))
            since = None
    return spans if since is None else [*spans, (since, end_ms)]


def shown_ms(capture: Capture) -> float:
    """How much of the window to draw: twice the time of the last edge, so that bounce is not a hair's breadth."""
    window_ms = capture.window_ticks / TICKS_PER_MS
    if not capture.edges:
        return window_ms
    return min(window_ms, max(6.0, 2 * capture.edges[-1].tick / TICKS_PER_MS))


def svg(scene: Scene, key: str) -> str:
    """The picture as an `<svg>` element; `key` keeps its ids apart from those of other pictures in the page."""
    return inline(file(scene, "none"), key, scene.says)


def file(scene: Scene, letters: Letters = "path") -> str:
    """The picture as an SVG file."""

    def draw(figure: Figure) -> None:
        margins = dict(left=0.15, right=0.97, top=0.9, bottom=0.15)
        current, contacts = figure.subplots(2, 1, height_ratios=(3, 1), gridspec_kw=margins)
        end_ms = shown_ms(scene.capture)
        _draw_current(current, scene, end_ms)
        _draw_contacts(contacts, scene, end_ms)

    return drawn(draw, (4.2, 3.0), 9, scene.across, letters)


def _draw_current(axes: Axes, scene: Scene, end_ms: float) -> None:
    step_ms = scene.capture.sample_ticks / TICKS_PER_MS
    shown = [i for i in range(len(scene.capture.samples)) if i * step_ms <= end_ms]
    # with the coil off no current passes the shunt; the samples may then be of the coil's low end
    milliamps = [0.0 if scene.capture.low_side else 1000 * scene.amps.value(scene.capture.samples[i]) for i in shown]
    axes.plot([i * step_ms for i in shown], milliamps, color=WAVE, linewidth=1.6)
    axes.set_ylim(min(0.0, *milliamps, 0.0) - 2, 1.18 * max(20.0, *milliamps, 20.0))
    axes.set_title("coil current, mA", loc="left", y=1.02, size=9, color=INK)  # y given: no search for room
    axes.set_xlim(0, end_ms)
    axes.set_xticks([])  # the axis under the contacts serves both
    plain(axes)
    for name, at_ms in scene.also:
        if at_ms <= end_ms:
            axes.axvline(at_ms, color=FAINT, linewidth=1.2, linestyle=(0, (1, 2)))
            axes.annotate(
                f"{name} {at_ms:.1f} ms", (at_ms, 0.03), xycoords=("data", "axes fraction"), xytext=(-4, 0),
                textcoords="offset points", ha="right", va="bottom", color=INK,
            )  # fmt: skip
    if scene.mark_ms is not None and scene.mark_ms <= end_ms:
        axes.axvline(scene.mark_ms, color=MARK, linewidth=1.2, linestyle=(0, (4, 2)))
        right = scene.mark_ms > 0.55 * end_ms
        axes.annotate(
            f"{scene.mark} {scene.mark_ms:.2f} ms",
            (scene.mark_ms, 0.97),
            xycoords=("data", "axes fraction"),
            xytext=(-4 if right else 4, 0),
            textcoords="offset points",
            ha="right" if right else "left",
            va="top",
            color=INK,
            weight="bold",
        )


def _draw_contacts(axes: Axes, scene: Scene, end_ms: float) -> None:
    lanes = [LANES[throw] for throw in scene.throws]
    for throw, (_, at) in zip(scene.throws, lanes, strict=True):
        axes.axhline(at, color=FAINT, linewidth=0.8)
        spans = [(start, end - start) for start, end in closed_spans(scene.capture, throw, end_ms)]
        axes.broken_barh(spans, (at - 0.3, 0.6), facecolor=INK, edgecolor=INK, linewidth=0.3)
    if scene.mark_ms is not None and scene.mark_ms <= end_ms:
        axes.axvline(scene.mark_ms, color=MARK, linewidth=1.2, linestyle=(0, (4, 2)))
    axes.set_yticks([at for _, at in lanes], [name for name, _ in lanes])
    axes.set_ylim(min(at for _, at in lanes) - 0.6, max(at for _, at in lanes) + 0.6)
    axes.set_xlim(0, end_ms)
    axes.set_xlabel("ms after the coil was switched", color=INK)
    plain(axes)
