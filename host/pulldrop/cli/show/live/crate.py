"""What is seen while a crate is sorted: a screen that is redrawn, or a plain line for each thing that happened.

Rule: both say the same; word, shape and place say a bin, colour only says it again.
"""

from collections.abc import Callable

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.progress_bar import ProgressBar
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.cli.show.drawn.picture import LEFT, curve
from pulldrop.cli.show.live.keys import offered
from pulldrop.model.crate.crate import Bin, CoilPicture, CrateView, Placed, Stage
from pulldrop.model.wording.words import BADGES

WIDE, HIGH, LAST, LAST_LOW, REASONS = 120, 36, 5, 3, 4
CURVE_ROWS, CURVE_MS = 5, 15.0
PICTURE = 45
BESIDE = PICTURE + 6
"""Columns of the picture, and with the gap on both sides of it."""


class SortScreen:
    """A screen that is redrawn with each view. Use as a context manager."""

    def __init__(self, out: Console, foot: Callable[[], str] = str) -> None:
        self._out, self._foot = out, foot
        self._live = Live(console=out, auto_refresh=False, screen=True)
        self._view: CrateView | None = None
        self._said = ""

    def __enter__(self) -> "SortScreen":
        self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._live.stop()
        if self._view:
            self._out.print(_tally(self._view, self._out.width))

    def __call__(self, view: CrateView) -> None:
        """Show a view."""
        if view.beats and self._view and view.beats != self._view.beats:
            self._out.bell()
        self._view = view
        self._draw()

    def typed(self, line: str) -> None:
        """Show what is being typed."""
        self._said = line
        if self._view:
            self._draw()

    def notice(self, said: str) -> None:
        """Show why a key was refused, or what the page has to say; empty takes it away."""
        self.typed(said)

    def _draw(self) -> None:
        assert self._view is not None
        coloured = self._out.color_system is not None
        said = "\n".join(one for one in (self._said, self._foot()) if one)
        whole = drawn(self._view, self._out.width, self._out.height, said, coloured)
        self._live.update(whole, refresh=True)


def drawn(view: CrateView, width: int, height: int, said: str, coloured: bool) -> RenderableType:
    """The whole screen. `said`: what is being typed, why a key was refused, how the page is opened."""
    parts: list[RenderableType] = []
    if view.simulated:
        parts.append(Text(f" SIMULATED ({view.board}): no real part is measured.".ljust(width), style="bold reverse"))
    parts.append(Text(f"crate {view.crate}   {view.protocol} {view.rating}   {view.board}", style="dim"))
    gap = [Text("")] if height >= HIGH else []  # a low terminal has no line to spare
    parts += [*gap, *_word(view, width, coloured), Text(""), Text(view.sentence, style="bold")]
    if view.steps_total:
        parts.append(_progress(view))
    if view.stage is Stage.CHECK:
        parts += [screen.beside("!", one, width=1) for one in view.cautions]
    parts += [Text(f"- {reason}") for reason in view.reasons[:REASONS]]
    parts += [*gap, Text(offered(view), style="bold")]
    if said:
        parts.append(Text(said))
    if view.stage is not Stage.CHECK and view.cautions:
        parts.append(screen.beside("!", " ".join(view.cautions), width=1))
    return Group(*parts, Text(""), _middle(view, width, height))


def _word(view: CrateView, width: int, coloured: bool) -> list[RenderableType]:
    """A bin and its number, or a countdown, in large letters; any other word in one bold line."""
    if view.beats:
        rows = big.large(f"{view.word} {view.beats}", big.HOURGLASS, "left", width)
        plain = Text(f" {view.word} {view.beats} ", style="bold reverse")
        return [*(big.painted(row, "bold", coloured) for row in rows), Text(""), plain]
    if view.bin is None:
        return [Text(f" {view.word} ", style="bold reverse")]
    rows, tone = big.drawn(view.bin, width, f"{view.word} {view.number}"), screen.tone(view.bin)
    plain = Text(f"{BADGES[view.bin].sign} {view.word} {view.number}", style=tone)
    return [*(big.painted(row, tone, coloured) for row in rows), Text(""), plain]


def _progress(view: CrateView) -> RenderableType:
    grid = Table.grid(padding=(0, 1))
    bar = ProgressBar(total=view.steps_total, completed=view.steps_done, width=20)
    told = (
        f"beats to go: {view.beats}" if view.beats else f"step {view.steps_done + 1} of {view.steps_total}: {view.step}"
    )
    grid.add_row(bar, Text(told))
    return grid


def _middle(view: CrateView, width: int, height: int) -> RenderableType:
    """Tally and last parts, and on a wide screen the coil current beside them."""
    beside = view.picture is not None and width >= WIDE
    tally = _tally(view, width - BESIDE if beside else width)
    left = Group(tally, Text(""), *(_line(one) for one in view.last[: LAST if height >= HIGH else LAST_LOW]))
    if view.picture is None or (width < WIDE and height < HIGH):
        return left
    if width < WIDE:
        return Group(left, Text(""), *_picture(view.picture, width - 10))
    grid = Table.grid(padding=(0, 3))
    grid.add_column(ratio=1, overflow="fold")
    grid.add_column(width=PICTURE, no_wrap=True)
    grid.add_row(left, Group(*_picture(view.picture, 36)))
    return grid


def _tally(view: CrateView, width: int) -> Text:
    """Parts in each bin and in all; no bin is parted from its number where a line ends."""
    told = [f"{BADGES[bin].sign} {bin} {count}" for bin, count in view.tally]
    lines = [""]
    for one in (*told, f"all {sum(count for _, count in view.tally)}"):
        longer = f"{lines[-1]}   {one}" if lines[-1] else one
        lines[-1:] = [longer] if len(longer) <= width else [lines[-1], one]
    return Text("\n".join(lines))


def _line(one: Placed) -> Text:
    note = f"  ({one.note})" if one.note else ""
    used = one.bin in (Bin.KEEP, Bin.LIGHT_DUTY)
    about = ", ".join(one.figures) if used and one.figures else one.reasons[0]
    text = f"{one.number:>4} {BADGES[one.bin].sign} {one.bin:<10} {about}{note}"
    return Text(text, no_wrap=True, overflow="ellipsis")


def _picture(picture: CoilPicture, columns: int) -> list[Text]:
    """Coil current over time, a few lines of ASCII."""
    columns = min(columns, 60)
    at_s = ((column + 0.5) * CURVE_MS / 1000 / columns for column in range(columns))
    lines = curve([1000 * _at(picture, time_s) for time_s in at_s], CURVE_ROWS)
    return [*map(Text, lines), Text(" " * LEFT + "0" + f"{CURVE_MS:g} ms".rjust(columns - 1))]


def _at(picture: CoilPicture, time_s: float) -> float:
    index = min(range(len(picture.time_s)), key=lambda n: abs(picture.time_s[n] - time_s))
    return picture.current_a[index]


def _sentence(said: str) -> str:
    """A reason as a sentence of its own."""
    return f"{said[:1].upper()}{said[1:].rstrip('.')}."


class Log:
    """A plain line whenever the stage, the word or the number changes."""

    def __init__(self, out: Console, foot: Callable[[], str] = str) -> None:
        self._out = out
        if foot():
            out.print(foot(), soft_wrap=True)
        self._last: tuple[Stage, str, int] | None = None
        self._beats = 0
        self._typing = False

    def __enter__(self) -> "Log":
        return self

    def __exit__(self, *_: object) -> None:
        self._count(0)

    def __call__(self, view: CrateView) -> None:
        """Write a view, when it is about something new."""
        about = (view.stage, view.word, view.number)
        if about == self._last:
            self._count(view.beats)
            return
        self._count(0)
        if self._last is None and view.simulated:
            screen.simulated(self._out, view.board.split()[0])
        if self._last is None and view.cautions:
            screen.cautions(self._out, view.cautions, view.simulated)
        self._last = about
        if view.stage is Stage.ENDED:
            self._out.print(_tally(view, self._out.width))
            return
        figures = f" ({', '.join(view.last[0].figures)})" if view.bin and view.last and view.last[0].figures else ""
        why = "".join(f" {_sentence(reason)}" for reason in view.reasons)
        end = "" if view.beats else "\n"
        self._out.print(f"{view.number:>4} {view.word}: {view.sentence}{why}{figures}", soft_wrap=True, end=end)
        self._count(view.beats)

    def _count(self, beats: int) -> None:
        """One beat more on the line of the countdown; 0 ends the line."""
        if beats == self._beats:
            return
        self._beats = beats
        self._out.print(f" {beats}" if beats else "", end="" if beats else "\n")
        if beats:
            self._out.bell()

    def typed(self, line: str) -> None:
        """What can be typed, once; the letters are worth no line."""
        if line and not self._typing:
            self._count(0)
            self._out.print(line)
        self._typing = bool(line)

    def notice(self, said: str) -> None:
        """Write why a key was refused, or what the page has to say; empty is worth no line."""
        if said:
            self._count(0)
            self._out.print(said)
