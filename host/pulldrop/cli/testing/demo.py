"""`pulldrop demo`: an invented crate over the virtual board, without any hardware."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, StoreOption
from pulldrop.cli.input_error import InputError


def demo(
    report: Annotated[
        Path, typer.Option("--report", metavar="FILE.html|.pdf", help="Where the one-file report goes.")
    ] = Path("pulldrop-demo.html"),
    years: Annotated[
        int,
        typer.Option(
            "--years",
            metavar="N",
            min=0,
            max=10,
            help="Instead, write this many years of a depot's history into --store.",
        ),
    ] = 0,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Test an invented crate; needs no hardware.

    Ten relays of a heritage bus depot go over the virtual board, part by part; a report is written. None of it
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
    from pulldrop.cli.show import exits
    from pulldrop.cli.show.answers import DemoAnswer
    from pulldrop.cli.show.live import run as live
    from pulldrop.cli.show.testing.demo import show_part, show_tally
    from pulldrop.jobs.demo.crate import run_demo
    from pulldrop.model.verdict import Overall

    with live.quiet() if as_json else live.Crate(out, show_part) as show:
        records = run_demo(show)
    files.write_report(report, records, "A crate of the heritage bus depot (invented)")
    screen.answer(DemoAnswer(report=str(report), records=records), as_json, show_tally)
    return exits.OPEN_END if records[-1].verdict.overall is Overall.INTERRUPTED else 0


def _years(years: int, store: str | None, as_json: bool) -> int:
    """An invented history in a store of its own, never in the usual one."""
    from datetime import UTC, datetime

    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import DemoYearsAnswer
    from pulldrop.cli.show.testing.demo import show_years
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
    screen.answer(
        DemoYearsAnswer(store=store, runs=runs), as_json, lambda out, made: show_years(out, made, years, parts)
    )
    return 0
