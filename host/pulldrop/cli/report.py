"""`pulldrop report`: what is kept, as a file; the end of the file's name says whether for people or for programs."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.options import StoreOption

if TYPE_CHECKING:
    from pulldrop.model.record import RunRecord

app = typer.Typer(help="Write what is kept into a file: certificates, histories, data.", no_args_is_help=True)
DATA = (".csv", ".json", ".parquet")
"""For other programs; see 'pulldrop schema row' and 'pulldrop schema records'."""
OutOption = Annotated[
    Path,
    typer.Option("--out", metavar="FILE", help="The file; .html or .pdf to read, .csv, .json or .parquet for data."),
]


@app.command("run")
def run(
    run: Annotated[str, typer.Argument(metavar="RUN|PART", help="A run's id, or a part's for its last run.")],
    out: OutOption,
    store: StoreOption = None,
) -> None:
    """Write the test certificate of one run (.html, .pdf), or its data (.csv, .json, .parquet)."""
    from pulldrop.cli import files
    from pulldrop.jobs import records
    from pulldrop.store import Store

    _check(out, (*files.REPORTS, *DATA))
    with Store.open(store) as history:
        record = records.one(history, run)
    if out.suffix.lower() in DATA:
        _write_data(out, [record])
        return
    files.write_report(out, [record])
    _told(out, f"The certificate of part {record.part.id}, run {record.run}")


@app.command("all")
def everything(
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The file; .csv, .json or .parquet.")],
    store: StoreOption = None,
) -> None:
    """Write the data of every run (.csv, .json, .parquet); 'pulldrop store import' takes the JSON."""
    from pulldrop.jobs import records
    from pulldrop.store import Store

    _check(out, DATA)
    with Store.open(store) as history:
        _write_data(out, records.every(history))


def _check(out: Path, ends: Sequence[str]) -> None:
    """Before anything is read: can it be written, and does it have what it needs?"""
    from pulldrop.cli import files
    from pulldrop.cli.errors import InputError

    if not out.suffix:
        raise InputError(f"The name {out.name} has no end that says what to write; {' or '.join(ends)} was expected.")
    files.check_writable(out, ends)
    if out.suffix.lower() != ".parquet":
        return
    try:
        import pyarrow.parquet  # noqa: F401
    except ImportError as error:
        raise InputError(
            "Parquet needs the library pyarrow, which is not installed. Install it (pip install 'pulldrop[parquet]'),"
            " or write .csv or .json instead."
        ) from error


def _write_data(out: Path, records: "Iterable[RunRecord]") -> None:
    from pulldrop.report import data

    count = data.write(out, records)
    _told(out, f"{count} {'run' if count == 1 else 'runs'}")


def _told(out: Path, what: str) -> None:
    from pulldrop.cli import screen

    screen.console().print(f"{what}: {out}")
