"""What a hunt found: grade, rule, what is left, a drawing of its switches, and with -v every setting that was tried."""

from collections.abc import Sequence

from rich.align import AlignMethod
from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.jobs.hunt.answer import HuntAnswer
from pulldrop.model.hunt.outcome import Grade, SwitchDrawing
from pulldrop.model.wording import hunt as words
from pulldrop.model.wording.hunt import HuntWords

SHAPES: dict[Grade, tuple[str, tuple[str, ...], AlignMethod]] = {
    Grade.PROVED: ("PROVED", big.TICK, "left"),
    Grade.LIKELY: ("LIKELY", big.QUESTION, "center"),
    Grade.NOT_FOUND: ("NOT FOUND", big.HOLLOW, "center"),
    Grade.OUTSIDE: ("UNEXPLAINED", big.QUESTION, "center"),
    Grade.STOPPED: ("STOPPED", big.ALARM, "center"),
}  # fmt: skip


def show(out: Console, answer: HuntAnswer, verbose: bool = False) -> None:
    """The answer of `pulldrop hunt` for a person."""
    found, said = answer.outcome, HuntWords(answer.cabin.listed())
    if verbose:
        _table(out, answer)
    if found.drawing is not None:
        for line in drawn(found.drawing, said, answer.cabin.wire, out.width):
            out.print(Text(line), soft_wrap=True)
    word, shape, place = SHAPES[found.grade]
    if screen.lively(out):
        out.print()
        coloured = out.color_system is not None
        for row in big.large(word, shape, place, out.width):
            out.print(big.painted(row, "bold", coloured))
        out.print()
    screen.above_verdict(out, answer.board.kind if answer.simulated else "")
    out.print(Text(f"  {words.HEADLINES[found.grade]}: {answer.cabin.wire}, {found.steps} steps", style="bold"))
    for one in said.outcome(found):
        out.print(screen.beside("  -", one, width=4, style=""))
    for change in answer.changes:
        out.print(screen.beside("  >", said.change(change), width=4))
    out.print(screen.rule(out))
    out.print(f"Log: {answer.log}")


def drawn(drawing: SwitchDrawing, said: HuntWords, wire: str, width: int) -> list[str]:
    """Switches in series on a line, ways below each other; down the page where that is too wide."""
    front = f"[{drawing.button} turns over]--" if drawing.button else ""
    ways = [[f"({said.condition(one)})" for one in branch.switches] or ["(always)"] for branch in drawing.branches]
    lines = ["--".join(way) for way in ways]
    widest = max(map(len, lines), default=0)
    across = []
    for number, line in enumerate(lines):
        left = f"feed --{front}+" if not number else " " * (7 + len(front)) + "+"
        right = f"+-- {wire}" if not number else "+"
        across.append(f"{left}--{line.ljust(widest, '-')}--{right}")
    if max(map(len, across), default=0) < width:
        return across
    down = [f"feed {front}".rstrip("-")]
    for number, way in enumerate(ways):
        down += [*(["  or"] if number else []), *(f"   |-- {one}" for one in way)]
    return [*down, f"   +-- {wire}"]


def _table(out: Console, answer: HuntAnswer) -> None:
    controls = answer.cabin.listed()
    shown = screen.table(*(one.id for one in controls), "wire")
    for row in answer.outcome.table:
        places: Sequence[str] = [one.positions[at] for one, at in zip(controls, row.positions, strict=True)]
        seen = ", ".join(f"{level.value} {count}x" for level, count in row.seen.items())
        shown.add_row(*places, seen)
    out.print(shown)
