"""Files that a command writes: checked before a run, so that no run is made for a report that cannot be kept."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pulldrop.cli.errors import InputError

if TYPE_CHECKING:
    from pulldrop.model.record import RunRecord


def check_writable(report: Path | None) -> None:
    """Raises InputError when the report could not be written there."""
    if report is None:
        return
    if report.is_dir():
        raise InputError(f"The report {report} is a folder; a file was expected, such as {report / 'part.html'}.")
    if not report.parent.is_dir():
        raise InputError(f"The report {report} cannot be written: there is no folder {report.parent}. Make it first.")
    try:
        with report.open("a"):
            pass
    except OSError as error:
        raise InputError(f"The report {report} cannot be written ({error.strerror}). Name another file.") from error


def write_report(report: Path, records: "Sequence[RunRecord]", title: str = "") -> None:
    """One HTML file of these records."""
    from pulldrop.report import page

    report.write_text(page(records, title), encoding="utf-8")
