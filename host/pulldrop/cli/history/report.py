"""`pulldrop report`: what is kept, as a file; the end of the file's name says whether for people or for programs."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import StoreOption, looked
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from pulldrop.model.crate.lot import Lot
    from pulldrop.model.run.record import RunRecord

app = typer.Typer(
    cls=Listing, help="Write what is kept into a file: certificates, histories, data.", no_args_is_help=True
)
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
    from pulldrop.cli.ask import files
    from pulldrop.jobs.parts import records

    _check(out, (*files.REPORTS, *DATA))
    with looked(store) as history:
        record = records.one(history, run)
    if out.suffix.lower() in DATA:
        _write_data(out, [record])
        return
    files.write_report(out, [record])
    _told(out, f"The certificate of part {record.part.id}, run {record.run}")


@app.command("part")
def part(
    part: Annotated[str, typer.Argument(metavar="PART", help="The part's id, typed or scanned.")],
    out: OutOption,
    store: StoreOption = None,
) -> None:
    """Write the history of one part (.html, .pdf), or the data of all its runs (.csv, .json, .parquet)."""
    from datetime import UTC, datetime

    from pulldrop.cli.ask import files
    from pulldrop.jobs.parts import records
    from pulldrop.jobs.parts.health import health
    from pulldrop.jobs.parts.keep import photos

    _check(out, (*files.REPORTS, *DATA))
    with looked(store) as history:
        runs = records.of_part(history, part)
        if out.suffix.lower() in DATA:
            _write_data(out, runs)
            return
        found = health(history, part, datetime.now(UTC))
        files.write_history(out, found, runs, photos(history, found.events))
    _told(out, f"The history of part {found.part}, {len(runs)} runs")


@app.command("crate")
def crate(
    crate: Annotated[str, typer.Argument(metavar="CRATE", help="Its name, as given to 'pulldrop sort'.")],
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The file; .html to read, .csv for data.")],
    store: StoreOption = None,
) -> None:
    """Write the result of a crate: bins, reasons, spread of each measurement, every part (.html, .csv)."""
    from pulldrop.cli.ask import files
    from pulldrop.report import crate as write

    _check(out, (".html", ".csv"))
    lot = _lot(crate, store)
    if out.suffix.lower() == ".csv":
        files.keep(out, write.table(lot))
    else:
        files.keep(out, write.page(lot))
    _told(out, f"Crate {crate}, {len(lot.parts)} parts")


@app.command("labels")
def labels(
    crate: Annotated[str, typer.Argument(metavar="CRATE", help="Its name, as given to 'pulldrop sort'.")],
    out: Annotated[Path, typer.Option("--out", metavar="FILE.pdf", help="The file.")],
    size: Annotated[
        str,
        typer.Option("--size", metavar="SIZE", help="In mm: 70x37, 63.5x38.1, 38.1x21.2, 105x57 on A4; 62x40 alone."),
    ] = "70x37",
    skip: Annotated[
        int, typer.Option("--skip", metavar="N", min=0, help="Places of the first sheet that are used already.")
    ] = 0,
    every: Annotated[bool, typer.Option("--all", help="Also of scrap and of parts to look at again.")] = False,
    store: StoreOption = None,
) -> None:
    """Write a label for each part that is used again: number, bin, key figures, a QR code of its id. Print at 100 %."""
    from pulldrop.cli.ask import files
    from pulldrop.model.crate.crate import Bin
    from pulldrop.report.paper import labels as write
    from pulldrop.report.paper.label_sizes import SIZES

    _check(out, (".pdf",))
    if size not in SIZES:
        raise InputError(f"There is no label size '{size}'; known are {', '.join(SIZES)}.")
    each = SIZES[size].columns * SIZES[size].rows
    if skip >= each:
        raise InputError(f"A sheet of {size} has {each} places; --skip {skip} leaves none. Begin a new sheet.")
    lot = _lot(crate, store)
    if not every:
        lot = lot.model_copy(update={"parts": tuple(one for one in lot.parts if one.bin in (Bin.KEEP, Bin.LIGHT_DUTY))})
    if not lot.parts:
        raise InputError(f"Crate {crate} has no part to keep or for light duty; --all labels the others too.")
    files.keep(out, write.labels(lot, SIZES[size], skip))
    _told(out, f"{len(lot.parts)} {'label' if len(lot.parts) == 1 else 'labels'} of {size}")


@app.command("all")
def everything(
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The file; .csv, .json or .parquet.")],
    store: StoreOption = None,
) -> None:
    """Write the data of every run (.csv, .json, .parquet); 'pulldrop store import' takes the JSON."""
    from pulldrop.jobs.parts import records

    _check(out, DATA)
    with looked(store) as history:
        _write_data(out, records.every(history))


def _lot(crate: str, store: str | None) -> "Lot":
    from pulldrop.jobs.sort.kept_crate import lot

    with looked(store) as history:
        return lot(history, crate)


def _check(out: Path, ends: Sequence[str]) -> None:
    """Before anything is read: can it be written, and does it have what it needs?"""
    from pulldrop.cli.ask import files

    if not out.suffix:
        raise InputError(f"The name {out.name} has no end that says what to write; {' or '.join(ends)} was expected.")
    files.check_writable(out, ends)
    if out.suffix.lower() != ".parquet":
        return
    try:
        import pyarrow.parquet  # noqa: F401
    except ImportError as error:
        raise InputError(
            "Parquet needs the library pyarrow, which is not installed. Install it (pip install pyarrow),"
            " or write .csv or .json instead."
        ) from error


def _write_data(out: Path, records: "Iterable[RunRecord]") -> None:
    from pulldrop.report import data

    count, bare = data.write(out, records)
    without = f" ({bare} of them cut off before the first reading, without a row; .json has them)" if bare else ""
    _told(out, f"{count} {'run' if count == 1 else 'runs'}{without}")


def _told(out: Path, what: str) -> None:
    from pulldrop.cli.show import screen

    screen.console().print(f"{what}: {out}")
