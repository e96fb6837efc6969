"""Records as files for other programs: JSON holds all of a run, CSV and Parquet a row for each measurement.

Rule: one run after the other, so that a whole history needs no more memory than one run; no file is left half written.
"""

import csv
import itertools
import json
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.row import MeasurementRow, rows
from pulldrop.model.wording.harmless import harmless
from pulldrop.whole import whole

ROWS_AT_ONCE = 20_000
"""Rows of one group in a Parquet file."""
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a text that begins so for a formula and runs it; a ' before it makes it a text again."""


def write(file: Path, records: Iterable[RunRecord]) -> tuple[int, int]:
    """Write the kind of file that its name ends in; gives the number of runs, and how many have no row in it.

    Raises ImportError when Parquet has no library.
    """
    counted = _Counted(records)
    with whole(file) as half:
        WRITERS[file.suffix.lower()](half, counted)
    return counted.number, 0 if file.suffix.lower() == ".json" else counted.bare


class _Counted:
    def __init__(self, records: Iterable[RunRecord]) -> None:
        self._records, self.number, self.bare = records, 0, 0

    def __iter__(self) -> Iterator[RunRecord]:
        for record in self._records:
            self.number += 1
            self.bare += not record.judged
            yield record


def _json(file: Path, records: Iterable[RunRecord]) -> None:
    """One array of whole records, as `pulldrop store import` takes it; ASCII, so that no code page can damage it."""
    with file.open("w", encoding="ascii", newline="\n") as out:
        before = "[\n"
        for record in records:
            out.write(before + json.dumps(json.loads(record.model_dump_json()), separators=(",", ":")))
            before = ",\n"
        out.write("[]\n" if before == "[\n" else "\n]\n")


def _csv(file: Path, records: Iterable[RunRecord]) -> None:
    """RFC 4180 in UTF-8; times in ISO 8601."""
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(MeasurementRow.model_fields)
        for record in records:
            writer.writerows([cell(value) for _, value in row] for row in rows(record))


def cell(value: Any) -> str:
    """One value as CSV has it."""
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case datetime():
            return value.isoformat()
        case str() if len(value) > 1 and value.startswith(FORMULA):
            return f"'{harmless(value)}"
    return harmless(str(value))


def _parquet(file: Path, records: Iterable[RunRecord]) -> None:
    import pyarrow
    import pyarrow.parquet

    schema = pyarrow.schema([(name, _type(pyarrow, name)) for name in MeasurementRow.model_fields])
    every = (row.model_dump() for record in records for row in rows(record))
    with pyarrow.parquet.ParquetWriter(file, schema) as out:
        while some := list(itertools.islice(every, ROWS_AT_ONCE)):
            out.write_table(pyarrow.Table.from_pylist(some, schema))


def _type(pyarrow: Any, name: str) -> Any:
    """The column's type, from that of the row's field."""
    told = MeasurementRow.model_fields[name].annotation
    if told in (datetime, datetime | None):
        return pyarrow.timestamp("us", "UTC")
    if told == float | None:
        return pyarrow.float64()
    plain = {bool: pyarrow.bool_(), int: pyarrow.int64()}
    return next((type_ for known, type_ in plain.items() if told is known), pyarrow.string())


WRITERS: dict[str, Callable[[Path, Iterable[RunRecord]], None]] = {".csv": _csv, ".json": _json, ".parquet": _parquet}
"""The writer for each end of a file's name."""
