"""`pulldrop health`: what a part's runs say of its wear, in words, a table and pictures."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import JsonOption, StoreOption, VerboseOption, looked
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.model.history.history import Health, SeriesHealth


def health(
    part: Annotated[str, typer.Argument(metavar="PART", help="The part's id, typed or scanned.")],
    measurement: Annotated[
        str | None,
        typer.Option(
            "--measurement", metavar="ID", help="Only this measurement, with every reading, such as contact_drop_no."
        ),
    ] = None,
    report: Annotated[
        Path | None, typer.Option("--report", metavar="FILE.html|.pdf", help="Also write a report with pictures.")
    ] = None,
    store: StoreOption = None,
    every: VerboseOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show whether a part wears, from all its runs.

    Readings are compared under the same volts and load, and at 20 degC. A trend is called at 1 %, a change only when it
    exceeds both uncertainties.
    """
    from datetime import UTC, datetime

    from pulldrop.cli.ask import files
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.history import health as show
    from pulldrop.jobs.parts.health import health as of_part
    from pulldrop.jobs.parts.keep import photos
    from pulldrop.jobs.parts.records import of_part as of_all

    files.check_writable(report)
    with looked(store) as history:
        found = of_part(history, part, datetime.now(UTC))
        pictures = photos(history, found.events) if report else ()
        runs = of_all(history, part) if report else ()
    chosen = _chosen(found, measurement)
    if report:
        files.write_history(report, found, runs, pictures)
    screen.answer(found, as_json, lambda out, _: show.show_health(out, found, chosen, every))
    if report and not as_json:
        screen.console().print(f"Report: {report}")


def _chosen(found: "Health", measurement: str | None) -> "SeriesHealth | None":
    from pulldrop.model.wording.near import hint

    if measurement is None:
        return None
    by_id = {one.series.id: one for one in found.findings}
    if measurement not in by_id:
        near = hint(measurement, by_id, "it has")
        raise InputError(f"Part {found.part} has no readings of '{measurement}' to compare; {near}")
    return by_id[measurement]
