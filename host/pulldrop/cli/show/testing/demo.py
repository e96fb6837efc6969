"""The demonstration on the terminal: each part as it is finished, and the tally."""

from collections import Counter

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.answers import DemoAnswer, DemoYearsAnswer
from pulldrop.model.reading import NotTested
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome, with_mark
from pulldrop.model.wording import words
from pulldrop.store import PartLine


def show_part(out: Console, number: int, record: RunRecord) -> None:
    """One part as it is finished."""
    verdict = record.verdict
    word = Text(f"{words.badge(verdict.overall).sign} {verdict.word.upper()}", style=screen.tone(verdict.overall))
    to_do = verdict.next.split(". ")[0].removesuffix(".") + "."
    row = Table.grid(padding=(0, 2, 0, 0))
    for width in (2, 12, None):
        row.add_column(width=width, overflow="fold")
    row.add_row(str(number), word, f"{record.part.id}  {record.part.label}")
    row.add_row("", "", Text(_telling(record), style="dim"))
    row.add_row("", "", to_do)
    out.print(row)


def _telling(record: RunRecord) -> str:
    """The measurement that decided, with its limit, and how many others speak the same way."""
    one = words.telling(record.judged)
    if one is None:
        return record.verdict.found
    alike = sum(other.outcome is one.outcome for other in record.judged) - 1
    more = f" (and {alike} more {one.outcome})" if alike and one.outcome is not Outcome.PASS else ""
    if isinstance(one.finding, NotTested):
        return f"{words.title(one.id)} not tested: {one.reason}{more}"
    limit = f"limit {one.limit.text} [{one.limit.source.known}]" if one.limit else "no limit"
    return f"{words.title(one.id)} {words.value(one.finding)}; {limit}{more}"


def show_tally(out: Console, answer: DemoAnswer) -> None:
    """How many parts ended how, and what to do next."""
    records = answer.records
    counted = Counter((record.verdict.overall, record.verdict.mark) for record in records)
    tally = ", ".join(f"{words.badge(one[0]).sign} {number} {with_mark(*one)}" for one, number in counted.most_common())
    out.print(Text(f"\n{len(records)} parts: {tally}", style="bold"))
    screen.simulated(out, "virtual")
    out.print(f"Report with the waveforms: {answer.report}")
    out.print("Next, one part with every number:")
    out.print("  pulldrop test --board virtual --specimen burnt-no", style="bold")


def show_years(out: Console, made: DemoYearsAnswer, years: int, parts: tuple[PartLine, ...]) -> None:
    """What was invented, and what to look at."""
    screen.simulated(out, "virtual")
    out.print(f"{made.runs} runs of {len(parts)} parts over {years} years, all of it invented, in {made.store}. Next:")
    out.print(f"  pulldrop fleet --store {made.store}", style="bold")
    out.print(f"  pulldrop health {parts[0].part.id} --store {made.store}", style="bold")
