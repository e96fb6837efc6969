"""`pulldrop demo`: an invented crate over the virtual board, without any hardware."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, StoreOption

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.run.record import RunRecord


def demo(
    report: Annotated[
        Path, typer.Option("--report", metavar="FILE.html|.pdf", help="Where the one-file report goes.")
    ] = Path("pulldrop-demo.html"),
    years: Annotated[
        int,
        typer.Option(
            "--years", metavar="N", min=0, max=10, help="Instead, so many years of a depot's history, into --store."
        ),
    ] = 0,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Test an invented crate; needs no hardware.

    Ten relays of a heritage bus depot go over the virtual board, part by part; a report is written. Nothing of it
    enters your history. With --years: the invented history of a depot, for 'pulldrop health' and 'pulldrop fleet'.
    """
    if years or store:
        return _years(years, store, as_json)
    from pulldrop.cli.ask import files
    from pulldrop.cli.show import screen

    files.check_writable(report)
    out = screen.console()
    if not as_json:
        screen.simulated(out, "virtual")
        out.print("A crate from the workshop of a heritage bus depot; all of it is invented.\n")
    # what tests and draws comes after the first words, for it takes longest to load
    from pulldrop.cli.show import exits, live
    from pulldrop.cli.show.answers import DemoAnswer
    from pulldrop.jobs.demo.crate import run_demo
    from pulldrop.model.verdict import Overall

    with live.quiet() if as_json else live.Crate(out, _show_part) as show:
        records = run_demo(show)
    files.write_report(report, records, "A crate of the heritage bus depot (invented)")
    if as_json:
        screen.print_json(DemoAnswer(report=str(report), records=records))
    else:
        _show_tally(out, records, report)
    return exits.OPEN_END if records[-1].verdict.overall is Overall.INTERRUPTED else 0


def _years(years: int, store: str | None, as_json: bool) -> int:
    """An invented history in a store of its own, never in the usual one."""
    from datetime import UTC, datetime

    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import DemoYearsAnswer
    from pulldrop.cli.show.errors import InputError
    from pulldrop.jobs.demo.years import run_years
    from pulldrop.store import Store

    if not years or store is None:
        raise InputError(
            "An invented history needs its years and a new store of its own, such as: pulldrop demo --years 3 --store"
            " depot.db"
        )
    out = screen.console(stderr=True)
    columns = (TextColumn("services of the invented depot"), BarColumn(bar_width=20), MofNCompleteColumn())
    with Store.open(store) as history, Progress(*columns, console=out, disable=not screen.lively(out)) as bar:
        task = bar.add_task("", total=None)
        runs = run_years(
            history, years, datetime.now(UTC), lambda _: None, lambda n, of: bar.update(task, completed=n, total=of)
        )
        parts = history.parts()
    if as_json:
        screen.print_json(DemoYearsAnswer(store=store, runs=runs))
        return 0
    shown = screen.console()
    screen.simulated(shown, "virtual")
    shown.print(f"{runs} runs of {len(parts)} parts over {years} years, all of it invented, in {store}. Next:")
    shown.print(f"  pulldrop fleet --store {store}", style="bold")
    shown.print(f"  pulldrop health {parts[0].part.id} --store {store}", style="bold")
    return 0


def _show_part(out: "Console", number: int, record: "RunRecord") -> None:
    from rich.table import Table
    from rich.text import Text

    from pulldrop.cli.show import screen
    from pulldrop.model import words

    verdict = record.verdict
    word = Text(f"{words.look(verdict.overall).sign} {verdict.word.upper()}", style=screen.tone(verdict.overall))
    to_do = verdict.next.split(". ")[0].removesuffix(".") + "."
    row = Table.grid(padding=(0, 2, 0, 0))
    for width in (2, 12, None):
        row.add_column(width=width, overflow="fold")
    row.add_row(str(number), word, f"{record.part.id}  {record.part.label}")
    row.add_row("", "", Text(_telling(record), style="dim"))
    row.add_row("", "", to_do)
    out.print(row)


def _telling(record: "RunRecord") -> str:
    """The measurement that decided, with its limit, and how many others speak the same way."""
    from pulldrop.model import words
    from pulldrop.model.reading import NotTested
    from pulldrop.model.verdict import Outcome

    one = words.telling(record.judged)
    if one is None:
        return record.verdict.found
    alike = sum(other.outcome is one.outcome for other in record.judged) - 1
    more = f" (and {alike} more {one.outcome})" if alike and one.outcome is not Outcome.PASS else ""
    if isinstance(one.finding, NotTested):
        return f"{words.title(one.id)} not tested: {one.reason}{more}"
    limit = f"limit {one.limit.text} [{one.limit.source.known}]" if one.limit else "no limit"
    return f"{words.title(one.id)} {words.value(one.finding)}; {limit}{more}"


def _show_tally(out: "Console", records: "tuple[RunRecord, ...]", report: Path) -> None:
    from collections import Counter

    from rich.text import Text

    from pulldrop.cli.show import screen
    from pulldrop.model import words
    from pulldrop.model.verdict import with_mark

    counted = Counter((record.verdict.overall, record.verdict.mark) for record in records)
    tally = ", ".join(f"{words.look(one[0]).sign} {number} {with_mark(*one)}" for one, number in counted.most_common())
    out.print(Text(f"\n{len(records)} parts: {tally}", style="bold"))
    screen.simulated(out, "virtual")
    out.print(f"Report with the waveforms: {report}")
    out.print("Next, one part with every number:")
    out.print("  pulldrop test --board virtual --specimen burnt-no", style="bold")
