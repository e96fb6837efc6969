"""The end of a run on one screen: verdict, what decided it, the cause, one next step, the number to write on the part.

Rule: nothing is cut within a sentence; what does not fit is left out from its end, and `-v` shows all of it.
"""

from collections.abc import Sequence

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.cli.show.testing.result import LEAST_TABLE
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.short import ShortResult, ShortRow, short_result
from pulldrop.model.wording import words

WORD = 6
"""Columns of the words at the left."""
ENDLESS = 1000
"""Lines of a pipe or a file, where nothing gets out of sight."""
LEAST_ROWS = 3
"""Measurements that are shown at least, before the big letters go."""


def show_short(out: Console, record: RunRecord, new: bool, below: int = 0, store: str | None = None) -> None:
    """The end of a run; `new`, `store`: see `short_result`. `below`: lines that will follow it.

    On a terminal it takes no more lines than are in sight, with the prompt of the shell below it.
    """
    said = short_result(record, new, store)
    banner, word, tail = screen.banner_of(out, record), _word(said), _tail(said)
    cause = [screen.beside(about, text, WORD) for about, text in said.said]
    letters = big.lines(out, said.overall, min(out.width - 1, 79), said.mark)
    fixed = [*filter(None, (banner,)), word, *cause, *tail]
    room = (out.height if out.is_terminal else ENDLESS) - 1 - below - _height(out, fixed)
    tables = [_table(said.rows[:count], out.width) for count in range(len(said.rows) + 1)]
    nexts = [screen.beside("next", " ".join(said.next[:count]), WORD) for count in range(1, len(said.next) + 1)]
    large, table, step = _fitting(out, room, letters, tables, nexts)
    shown = [*filter(None, (banner,)), *large, word, *table, *cause, step, *tail]
    for one in shown:
        out.print(one)


def _fitting(
    out: Console, room: int, letters: Sequence[Text], tables: Sequence[Table], nexts: Sequence[Table]
) -> tuple[Sequence[Text], Sequence[Table], Table]:
    """Letters, table and next step that fit into `room` lines: the letters go last, for they are seen from afar."""
    rows, steps = [_height(out, [one]) for one in tables], [_height(out, [one]) for one in nexts]
    most = len(tables) - 1
    for large, least in ((letters, min(LEAST_ROWS, most)), ((), min(1, most))):
        for said in range(len(nexts) - 1, -1, -1):
            for count in range(most, least - 1, -1):
                if len(large) + rows[count] + steps[said] <= room:
                    return large, tables[count : count + 1] if count else (), nexts[said]
    return (), tables[min(1, most) : 2], nexts[0]


def _height(out: Console, shown: Sequence[RenderableType]) -> int:
    return len(out.render_lines(Group(*shown), pad=False)) if shown else 0


def _word(said: ShortResult) -> Text:
    """The verdict in words, and whose it is."""
    line = f"  {words.badge(said.overall).sign} {said.word}   part {said.part}"
    return Text(line, style=screen.tone(said.overall))


def _tail(said: ShortResult) -> list[RenderableType]:
    """What to mind, what to write on the part, and where the rest is; counted with the cause."""
    write = [screen.beside("write", said.write, WORD)] if said.write else []
    return [
        screen.beside("mind", said.mind, WORD),
        *write,
        Text(f"Every line and source: -v, or {said.more}", style="dim"),
    ]


def _table(rows: Sequence[ShortRow], columns: int) -> Table:
    """Without the words of the outcomes where there is little room: their signs say the same."""
    table = screen.table("", "", "", "")
    table.show_header = False
    table.columns[0].no_wrap = True
    for one in rows:
        word = Text(
            f"{words.badge(one.outcome).sign} {one.outcome if columns >= LEAST_TABLE else ''}",
            style=screen.tone(one.outcome),
        )
        table.add_row(word, one.title, one.value, one.limit)
    return table
