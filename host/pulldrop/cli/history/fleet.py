"""`pulldrop fleet`: all tested parts together: what wears fastest, what is due, which stand outside their siblings."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, StoreOption, VerboseOption


def fleet(
    every: Annotated[
        float, typer.Option("--every", metavar="MONTHS", min=0.1, help="How often a part is to be tested.")
    ] = 12,
    report: Annotated[
        Path | None, typer.Option("--report", metavar="FILE.html", help="Also write a one-file report.")
    ] = None,
    store: StoreOption = None,
    statistics: VerboseOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show which types, positions and donors wear fastest, which parts are due, and which are unlike their siblings."""
    from datetime import UTC, datetime

    from rich.progress import Progress

    from pulldrop.cli.ask import files
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import fleet as show
    from pulldrop.jobs.parts.fleet import fleet as of_store
    from pulldrop.store import Store

    files.check_writable(report)
    notes = screen.console(stderr=True)
    with Store.look(store) as history, Progress(console=notes, transient=True, disable=not screen.lively(notes)) as bar:
        found = of_store(
            history, every, datetime.now(UTC), lambda parts: bar.track(parts, description="reading histories")
        )
    if report:
        from pulldrop.report.fleet import page

        files.keep(report, page(found))
    screen.answer(found, as_json, lambda out, _: show.show_fleet(out, found, statistics))
    if report and not as_json:
        screen.console().print(f"Report: {report}")
