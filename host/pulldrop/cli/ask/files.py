"""Files that a command writes or takes: checked before a run, so that no run is made for what cannot be kept."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pulldrop.cli.input_error import InputError
from pulldrop.whole import whole

if TYPE_CHECKING:
    from pulldrop.model.history.history import Health
    from pulldrop.model.part.reference import TypeReference
    from pulldrop.model.run.plan import Plan
    from pulldrop.model.run.record import RunRecord
    from pulldrop.report.health import Photos


REPORTS = (".html", ".pdf")
"""What a report can be; the end of its name says which. Without an end it is HTML."""


def check_writable(report: Path | None, ends: Sequence[str] = REPORTS) -> None:
    """Raises InputError when the report could not be written there, or its name ends in none of `ends`."""
    if report is None:
        return
    if report.suffix.lower() not in ("", *ends):
        listed = " or ".join(ends)
        raise InputError(f"The name {report.name} ends in '{report.suffix}'; {listed} was expected. Name it so.")
    if report.is_dir():
        raise InputError(f"The report {report} is a folder; a file was expected, such as {report / 'part.html'}.")
    if not report.parent.is_dir():
        raise InputError(f"The report {report} cannot be written: there is no folder {report.parent}. Make it first.")
    new = not report.exists()
    try:
        with report.open("a"):
            pass
        if new:
            report.unlink()
    except OSError as error:
        raise InputError(f"The report {report} cannot be written ({error.strerror}). Name another file.") from error


def keep(file: Path, content: str | bytes) -> None:
    """Write a file whole or not at all: the one that was there stays until then. Raises InputError.

    A page that ends in the middle could be read as one that says no more.
    """
    raw = content.encode() if isinstance(content, str) else content
    if file.exists() and not file.is_file():  # a pipe or a device has no place beside it
        file.write_bytes(raw)
        return
    try:
        with whole(file.resolve()) as half:
            half.write_bytes(raw)
    except OSError as error:
        raise InputError(
            f"{file} cannot be written ({error.strerror or error}); nothing there was changed."
            " Free some space, or name another place."
        ) from error


def write_report(report: Path, records: "Sequence[RunRecord]", title: str = "") -> None:
    """One file of these records: PDF when its name says so, else HTML."""
    if report.suffix.lower() == ".pdf":
        from pulldrop.report.paper.certificate import certificate

        keep(report, certificate(records, title))
        return
    from pulldrop.report.html import page

    keep(report, page(records, title))


def write_history(report: Path, health: "Health", records: "Sequence[RunRecord]", photos: "Photos") -> None:
    """One file of a part's history: PDF when its name says so, else HTML."""
    if report.suffix.lower() == ".pdf":
        from pulldrop.report.paper.history import history

        keep(report, history(health, records, photos))
        return
    from pulldrop.report.health import page

    keep(report, page(health, photos, records))


def siblings(file: Path | None, plan: "Plan", simulated: bool) -> "TypeReference | None":
    """What another bench learned of the type, if a file is named. Raises BadText, and NoReference for another test."""
    if file is None:
        return None
    from pulldrop.jobs.parts.siblings import check
    from pulldrop.protocol.ratings.reference import load_reference

    found = load_reference(file)
    check(found, plan, simulated)
    return found
