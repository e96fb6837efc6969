"""The end of a run on one screen: verdict, what decided it, the cause, one next step, the number to write on the part.

Rule: nothing is cut within a sentence; what does not fit is left out from its end, and `-v` shows all of it.
"""

import re
import shlex
from collections.abc import Iterator, Sequence

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.cli.show.testing.result import LEAST_TABLE
from pulldrop.model import words
from pulldrop.model.cautions import after_run
from pulldrop.model.reading import Reading
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Outcome, Overall

WORD = 6
"""Columns of the words at the left."""
ENDLESS = 1000
"""Lines of a pipe or a file, where nothing gets out of sight."""
EVEN = 0.5
"""A fault that is no more probable than its absence is not named where the run itself is not settled."""
MOST_ROWS, LEAST_ROWS = 6, 3
"""Measurements that are shown at most; at least, before the big letters go."""
TELLING = (
    "contact_drop_no", "contact_drop_twin", "contact_drop_nc", "pull_in_voltage_20c", "drop_out_voltage",
    "operate_time", "release_time", "coil_resistance_20c", "contact_dry_nc", "leakage_coil_contact",
    "contact_rest", "leakage_open_contact",
)  # fmt: skip
"""What a person wants to read of a part that met every limit, or was checked without load, in this order."""


def show_short(out: Console, record: RunRecord, new: bool, below: int = 0, store: str | None = None) -> None:
    """The end of a run. `new`: its number is not on the part yet; `below`: lines that will follow it; `store`: where it
    is kept, as `--store` names it.

    On a terminal it takes no more lines than are in sight, with the prompt of the shell below it.
    """
    verdict = record.verdict
    banner, word, tail = screen.banner_of(out, record), _word(record), _tail(record, new, store)
    letters = big.lines(out, verdict.overall, min(out.width - 1, 79), verdict.mark)
    fixed = [*filter(None, (banner,)), word, *_cause(record), *tail]
    room = (out.height if out.is_terminal else ENDLESS) - 1 - below - _height(out, fixed)
    tables = [_table(_rows(record)[:count], out.width) for count in range(len(_rows(record)) + 1)]
    steps = _sentences(verdict.next)
    nexts = [screen.beside("next", " ".join(steps[:count]), WORD) for count in range(1, len(steps) + 1)]
    large, table, step = _fitting(out, room, letters, tables, nexts)
    shown = [*filter(None, (banner,)), *large, word, *table, *_cause(record), step, *tail]
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


def _word(record: RunRecord) -> Text:
    """The verdict in words, and whose it is."""
    verdict = record.verdict
    line = f"  {words.badge(verdict.overall).sign} {verdict.word.upper()}   part {record.part.id}"
    return Text(line, style=screen.tone(verdict.overall))


def _cause(record: RunRecord) -> Iterator[RenderableType]:
    """The most probable fault with its first reason; without one, what the verdict means, unless all is good. First
    of all what troubled the bench."""
    verdict = record.verdict
    settled = verdict.overall in (Overall.PASS, Overall.FAIL)
    if verdict.overall is Overall.BENCH_TROUBLE:
        yield screen.beside("found", verdict.found, WORD)
    if record.faults and (settled or record.faults[0].weight > EVEN):
        yield screen.beside("cause", _named(record, record.faults[0]), WORD)
    elif settled and verdict.unlike:
        reason = f": {verdict.unlike.evidence[0].text}" if verdict.unlike.evidence else ""
        yield screen.beside("cause", f"{verdict.unlike.text}{reason}", WORD)
    elif verdict.overall is not Overall.PASS:
        yield screen.beside("means", verdict.means, WORD)
        left = words.not_tested(record)
        if left and not settled:
            reason = max(left, key=lambda one: len(left[one]))
            yield screen.beside("why", f"{len(left[reason])} of {len(record.plan.wanted)} not tested: {reason}", WORD)


def _named(record: RunRecord, fault: NamedFault) -> str:
    """A fault with the first reading that speaks for it; of a part that could not be measured, with why it is named."""
    read = {one.id for one in record.judged if isinstance(one.finding, Reading)}
    spoken = [one for one in fault.evidence if one.speaks == "for"]
    reason = next((one.text for one in sorted(spoken, key=lambda one: one.id not in read)), "")
    share = f"{fault.title} [{100 * min(fault.weight, 0.99):.0f} %]"
    return f"{share}, because of {reason}" if reason else share


def _tail(record: RunRecord, new: bool, store: str | None) -> list[RenderableType]:
    """What to mind, what to write on the part, and where the rest is; counted with the cause."""
    at = f" {shlex.join(['--store', store])}" if store else ""
    write = [screen.beside("write", f"{record.part.id} on the part, with a pen", WORD)] if new else []
    return [
        screen.beside("mind", " ".join(after_run(record.plan)), WORD),
        *write,
        Text(f"Every line and source: -v, or pulldrop parts show {record.part.id}{at}", style="dim"),
    ]


def _rows(record: RunRecord) -> tuple[Judged, ...]:
    """What failed, then what is unsure; where nothing is, the readings that say most of a good part."""
    doubted = [one for word in (Outcome.FAIL, Outcome.UNSURE) for one in record.judged if one.outcome is word]
    if doubted or record.verdict.overall not in (Overall.PASS, Overall.WITHOUT_LOAD):
        return tuple(doubted[:MOST_ROWS])
    judged = {one.id: one for one in record.judged if isinstance(one.finding, Reading)}
    return tuple(judged[id] for id in TELLING if id in judged)[:MOST_ROWS]


def _table(rows: Sequence[Judged], columns: int) -> Table:
    """Without the words of the outcomes where there is little room: their signs say the same."""
    table = screen.table("", "", "", "")
    table.show_header = False
    table.columns[0].no_wrap = True
    for one in rows:
        word = Text(
            f"{words.badge(one.outcome).sign} {one.outcome if columns >= LEAST_TABLE else ''}",
            style=screen.tone(one.outcome),
        )
        limit = one.limit.text.partition(" (")[0] if one.limit else "no limit"
        table.add_row(word, words.title(one.id), words.value(one.finding) or "-", limit)
    return table


def _sentences(text: str) -> list[str]:
    return re.split(r"(?<=[.!?]) (?=[A-Z])", text)
