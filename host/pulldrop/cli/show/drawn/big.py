"""The verdict in letters five lines high, to be read at two metres; ASCII only, drawn by us.

Rule: it repeats what the line below it says in plain text; where it does not fit, or nobody looks, there is none.
"""

from collections.abc import Iterator

from rich.align import AlignMethod
from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.model.crate.crate import Bin
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Overall
from pulldrop.model.wording import words

LETTERS = {
    "A": (".##.", "#..#", "####", "#..#", "#..#"),
    "B": ("###.", "#..#", "###.", "#..#", "###."),
    "C": (".###", "#...", "#...", "#...", ".###"),
    "D": ("###.", "#..#", "#..#", "#..#", "###."),
    "E": ("####", "#...", "###.", "#...", "####"),
    "F": ("####", "#...", "###.", "#...", "#..."),
    "G": (".###", "#...", "#.##", "#..#", ".###"),
    "H": ("#..#", "#..#", "####", "#..#", "#..#"),
    "I": ("###", ".#.", ".#.", ".#.", "###"),
    "K": ("#..#", "#.#.", "##..", "#.#.", "#..#"),
    "L": ("#...", "#...", "#...", "#...", "####"),
    "M": ("#...#", "##.##", "#.#.#", "#...#", "#...#"),
    "N": ("#..#", "##.#", "#.##", "#..#", "#..#"),
    "O": (".##.", "#..#", "#..#", "#..#", ".##."),
    "P": ("###.", "#..#", "###.", "#...", "#..."),
    "R": ("###.", "#..#", "###.", "#.#.", "#..#"),
    "S": ("####", "#...", "####", "...#", "####"),
    "T": ("###", ".#.", ".#.", ".#.", ".#."),
    "U": ("#..#", "#..#", "#..#", "#..#", ".##."),
    "V": ("#...#", "#...#", "#...#", ".#.#.", "..#.."),
    "W": ("#...#", "#...#", "#.#.#", "##.##", "#...#"),
    "X": ("#...#", ".#.#.", "..#..", ".#.#.", "#...#"),
    "Y": ("#.#", "#.#", ".#.", ".#.", ".#."),
    "0": (".##.", "#.##", "##.#", "#..#", ".##."),
    "1": (".#.", "##.", ".#.", ".#.", "###"),
    "2": ("###.", "...#", ".##.", "#...", "####"),
    "3": ("###.", "...#", ".##.", "...#", "###."),
    "4": ("#..#", "#..#", "####", "...#", "...#"),
    "5": ("####", "#...", "###.", "...#", "###."),
    "6": (".##.", "#...", "###.", "#..#", ".##."),
    "7": ("####", "...#", "..#.", ".#..", ".#.."),
    "8": (".##.", "#..#", ".##.", "#..#", ".##."),
    "9": (".##.", "#..#", ".###", "...#", ".##."),
    " ": ("..", "..", "..", "..", ".."),
}
"""Only those that a verdict, a bin, a number or a word of `switch` needs."""

TICK = ("......#", ".....##", "#...##.", "##.##..", ".###...")
CROSS = ("##...##", ".##.##.", "..###..", ".##.##.", "##...##")
QUESTION = (".####..", "##..##.", "...##..", ".......", "...##..")
HOLLOW = ("#######", "#.....#", "#.....#", "#.....#", "#######")
HALF = ("#######", "####..#", "####..#", "####..#", "#######")
BROKEN = ("##..###", "###..##", "##..###", "###..##", "##..###")
HOURGLASS = ("#######", ".#####.", "...#...", ".#####.", "#######")
ALARM = ("..###..", "..###..", "..###..", ".......", "..###..")
STOP = (".#####.", "##...##", "#######", "##...##", ".#####.")
ASIDE = ("#......", "#..##..", "#######", "...##..", "...#...")
SHAPES = {
    "tick": TICK, "cross": CROSS, "question": QUESTION, "hollow": HOLLOW, "gap": BROKEN, "alarm": ALARM, "slash": HALF,
    "stop": STOP, "aside": ASIDE,
}  # fmt: skip
"""By the name of the shape. With its place no verdict rests on colour: pass left, fail right, the unsettled between."""
ALIGNED: dict[str, AlignMethod] = {"pass": "left", "fail": "right", "open": "center"}
"""By place."""


def show(out: Console, verdict: Overall, width: int, mark: Mark | None = None) -> None:
    """The big verdict, as `lines` has it."""
    for line in lines(out, verdict, width, mark):
        out.print(line)


def lines(out: Console, verdict: Overall, width: int, mark: Mark | None = None) -> list[Text]:
    """The big verdict within `width` columns, between two empty lines; none where no terminal is wide enough for it.

    A pass with a mark is shown by its mark, which nobody at two metres may miss.
    """
    if not out.is_terminal or out.is_dumb_terminal:
        return []
    rows = large(mark.upper(), HALF, "center", width) if mark else drawn(verdict, width)
    if not rows:
        return []
    coloured = out.color_system is not None
    return [Text(), *(painted(row, screen.tone(verdict), coloured) for row in rows), Text()]


def drawn(word: Overall | Bin, width: int, text: str = "") -> tuple[str, ...]:
    """Rows of `#` and spaces as large as fits, shape first and in its place; none when even the smallest is too wide.

    `text`: what is written; else the word. A dot of the large size is two columns wide, which makes it about square.
    """
    look = words.badge(word)
    return large(text or word.upper(), SHAPES[look.shape], ALIGNED[look.place], width)


def large(word: str, shape: tuple[str, ...], place: AlignMethod, width: int) -> tuple[str, ...]:
    """The same for any text whose letters are all in LETTERS."""
    for columns, split in ((2, (word,)), (1, (word,)), (1, tuple(word.split(" ", 1)))):
        rows = tuple(_rows(shape, split, columns))
        widest = max(map(len, rows))
        if widest <= width:
            indent = {"left": 0, "center": (width - widest) // 2, "right": width - widest}[place]
            return tuple((" " * indent + row).rstrip() for row in rows)
    return ()


def _rows(shape: tuple[str, ...], lines: tuple[str, ...], columns: int) -> Iterator[str]:
    """The lines below each other, the shape beside the first."""
    for number, line in enumerate(lines):
        if number:
            yield ""
        beside = shape if number == 0 else ("." * len(shape[0]),) * 5
        for row in range(5):
            dots = beside[row] + ".." + ".".join(LETTERS[letter][row] for letter in line)
            yield "".join((" " if dot == "." else "#") * columns for dot in dots)


def painted(row: str, tone: str, coloured: bool) -> Text:
    """Solid where the terminal has colours, `#` where it has none."""
    if not coloured:
        return Text(row)
    painted = Text()
    for cell in row:
        painted.append(" ", style=f"{tone} reverse" if cell == "#" else "")
    return painted
