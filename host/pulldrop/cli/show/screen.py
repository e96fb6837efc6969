"""Where text goes: stdout for results, stderr for errors, and JSON; the only place that knows about terminals."""

import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Never, TypeVar

from pydantic import TypeAdapter
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.segment import Segment
from rich.table import Column, Table
from rich.text import Text

from pulldrop.cli.show.exits import ReaderGone
from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.model.crate.crate import Bin
from pulldrop.model.origin import Origin
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Outcome, Overall, with_mark
from pulldrop.model.wording import words
from pulldrop.model.wording.harmless import harmless
from pulldrop.model.wording.words import BADGES

Answer = TypeVar("Answer")


class _Screen(Console):
    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """What rich sends to a terminal itself is a control segment; no text is one."""
        for one in super().render(renderable, options):
            yield one if one.control else Segment(harmless(one.text), one.style)

    def on_broken_pipe(self) -> Never:
        """Not rich's own way, which is to exit with 1: here that means a part that failed."""
        raise ReaderGone


def console(stderr: bool = False) -> Console:
    """A console for plain text on stdout, or on stderr where stdout takes JSON. NO_COLOR takes colours, and no more."""
    return _Screen(
        highlight=False,
        markup=False,
        emoji=False,
        stderr=stderr,
    )


def lively(out: Console) -> bool:
    """True where a line may be redrawn: a real terminal, and nobody asked for plain output."""
    return out.is_terminal and not out.is_dumb_terminal


def simulated(out: Console, kind: str) -> None:
    """The banner of every screen of a board that is not real."""
    _banner(out, f"{words.mark(Origin.SIMULATED)} ({kind} board): no real part was measured.")


def marked(out: Console, origin: Origin, means: str = "") -> None:
    """The banner of every screen of what was not measured here, `means` in place of what the mark means."""
    if origin is Origin.SIMULATED and not means:
        simulated(out, "virtual or emulated")
    elif words.mark(origin):
        _banner(out, words.marked(origin, means or words.meaning(origin)))


def of_run(out: Console, record: RunRecord | CalibrationRecord) -> None:
    """The banner of a run or a calibration, if it was not made here."""
    if line := banner_of(out, record):
        out.print(line)


def banner_of(out: Console, record: RunRecord | CalibrationRecord) -> Text | None:
    """That banner; None for what was made here."""
    return _bar(out, words.banner(record)) if words.mark(record.origin) else None


def above_verdict(out: Console, kind: str) -> None:
    """The line above a verdict below more than a screen of lines: the banner of a board of this kind, else a rule."""
    if kind:
        simulated(out, kind)
    else:
        out.print(rule(out))


def rule(out: Console) -> Text:
    """A line from side to side."""
    return Text("=" * min(out.width - 1, 79), style="bold")


def _banner(out: Console, text: str) -> None:
    out.print(_bar(out, text))


def _bar(out: Console, text: str) -> Text:
    return Text(f" {text}".ljust(min(out.width, 79)), style="bold reverse")


GAP = 2
"""Columns of the terminal between two columns of a table."""
WIDE = 1000
"""A width that no line of a cell reaches."""


class _Plain(Table):
    """A table that tears no word: its rows become paragraphs where its words do not fit beside each other.

    Widths are our own, because rich narrows the widest column first, and tears an id for the sake of a sentence.
    """

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        ranges = [self._range(console, options, column) for column in self.columns]
        room = options.max_width - GAP * (len(ranges) - 1)
        if room < sum(one.minimum for one in ranges):
            yield from self._paragraphs()
            return
        for column, width in zip(self.columns, _widths(ranges, room), strict=True):
            column.width = width
        yield from super().__rich_console__(console, options)

    def _range(self, console: Console, options: ConsoleOptions, column: Column) -> Measurement:
        """From the longest word of a column to its longest line, within what the table asks for."""
        wide = options.update_width(WIDE)
        ranges = [Measurement.get(console, wide, cell) for cell in (column.header, *column.cells)]
        least, most = max(one.minimum for one in ranges), max(one.maximum for one in ranges)
        return Measurement(most if column.no_wrap else least, most).clamp(column.min_width, column.max_width)

    def _paragraphs(self) -> Iterator[Text | Padding]:
        headings = [str(column.header) for column in self.columns]
        for cells in zip(*(column.cells for column in self.columns), strict=True):
            told = [(heading, cell) for heading, cell in zip(headings, cells, strict=True) if str(cell)]
            for place, (heading, cell) in enumerate(told):
                text = cell.copy() if isinstance(cell, Text) else Text(str(cell))
                named = Text(f"{heading} " if heading else "", style="dim").append_text(text)
                yield Padding(named, (0, 0, 0, 2)) if place else text


def _widths(ranges: Sequence[Measurement], room: int) -> list[int]:
    """What each column gets of the room: its longest word, and then the narrowest that wants more comes first."""
    widths = [one.minimum for one in ranges]
    for _ in range(room - sum(widths)):
        wanting = [place for place, one in enumerate(ranges) if widths[place] < one.maximum]
        if not wanting:
            break
        widths[min(wanting, key=widths.__getitem__)] += 1
    return widths


TONES = {"pass": "bold bright_blue", "fail": "bold dark_orange"}
"""By place. Blue and orange: nearly everybody can distinguish them."""


def tone(word: Outcome | Overall | Bin) -> str:
    """The style of a word; it only says again what sign and place say."""
    return "dim" if word is Outcome.NOTED else TONES.get(BADGES[word].place, "bold")


def verdict(overall: Overall, mark: Mark | None) -> Text:
    """A verdict in a list: sign, word and mark."""
    return Text(f"{BADGES[overall].sign} {with_mark(overall, mark)}", style=tone(overall))


def table(*headings: str) -> Table:
    """A table without lines, whose cells wrap instead of being cut."""
    plain = _Plain(box=None, pad_edge=False, padding=(0, GAP, 0, 0), header_style="bold")
    for heading in headings:
        plain.add_column(heading, overflow="fold")
    return plain


def beside(word: str, sentence: str | Text, width: int, style: str = "bold") -> Table:
    """A word at the left, and its sentence beside it, which wraps within its own column."""
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(width=width, no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row(Text(word, style=style), sentence)
    return grid


def cautions(out: Console, told: Sequence[str], simulated: bool) -> None:
    """What can hurt, before anything is energised."""
    out.print(Text("Caution, on a real bench:" if simulated else "Caution:", style="bold"))
    for one in told:
        out.print(beside("  !", one, width=3))


def answer(made: Answer, as_json: bool, show: Callable[[Console, Answer], None]) -> None:
    """What a command answers: JSON for a program, or as `show` writes it for a person."""
    if as_json:
        print_json(made)
    else:
        show(console(), made)


def print_json(answer: object) -> None:
    """Write one model (or a tuple of them, or plain values) as JSON to stdout.

    In ASCII, so that no code page can damage it; a number that is not finite becomes null.
    """
    plain = json.loads(TypeAdapter(type(answer)).dump_json(answer))
    try:
        sys.stdout.write(json.dumps(plain, indent=2) + "\n")
        sys.stdout.flush()
    except BrokenPipeError as gone:
        raise ReaderGone from gone


@contextmanager
def progress(of: str, quiet: bool = False) -> Iterator[Callable[[int, int], None]]:
    """A bar for work that may take more than a second; call what it gives with done and total."""
    out = console(stderr=True)
    if quiet or not lively(out):
        yield lambda done, total: None
        return
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=out, transient=True) as bar:
        task = bar.add_task(of, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
