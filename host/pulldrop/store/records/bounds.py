"""What a record from outside must keep to, so that nothing that was taken in can later break a sum, a list or a path.

A store may move from SQLite to PostgreSQL, so whole numbers keep to the narrower of both.
"""

import math
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

from sqlalchemy import Connection, Table

from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.model.crate.crate import CrateEvent
from pulldrop.model.part.event import PartEvent
from pulldrop.model.run.record import RunRecord
from pulldrop.store.database import tables
from pulldrop.store.database.chain import Values
from pulldrop.store.database.stamps import stamp
from pulldrop.store.records import crates, judgements, rows
from pulldrop.store.records.parts import PART_ID

RUN_ID = re.compile(r"\d{8}T\d{6}-[0-9A-Za-z]{1,20}")
"""Moment and random letters, as `OpenRun` gives it."""
BIRTH = re.compile(r"\d{8}T\d{6}-[0-9A-Za-z-]{1,40}")
"""Moment and random letters, as a part gets one when it is first kept."""
MOST_WHOLE = 2**31 - 1
"""Of an INTEGER of PostgreSQL (appendix, numeric types)."""
MOST = 1e100
"""Of a number in SI units: its square, and the sum of a million such squares, are numbers still."""
LONGEST = 1_000_000
"""Characters of one text; the longest protocol has 10,000."""
EARLIEST = "1970"
AHEAD = timedelta(days=1)
"""So far a clock of another bench may be wrong."""
MOMENTS = ("at", "written", "begun", "taken_at", "marked")
"""Columns of moments in rows besides those of runs."""


def refusal(record: RunRecord) -> str:
    """The first thing about a record that a store cannot keep, in a sentence; empty when there is none."""
    if not RUN_ID.fullmatch(record.run):
        return f"'{record.run[:40]}' is no id of a run, such as 20260504T093015-3f9a2c."
    for birth in record.part.births:
        if not BIRTH.fullmatch(birth):
            return f"'{birth[:40]}' is no birth of a part, such as 20260504T093015-3f9a2c0123456789."
    moments = [one for one in (record.started, record.ended, record.calibration.taken_at) if one is not None]
    if any(one.tzinfo is None for one in moments):
        return "Its moments have no time zone; UTC was expected."
    try:
        if odd := next(filter(None, (_odd(stamp(one)) for one in moments)), ""):
            return odd
    except ValueError as error:
        return f"Its moments cannot be kept ({error})."
    try:
        cells = list(_cells(record))
    except ArithmeticError as error:
        return f"Its figures cannot be reckoned with ({error.args[-1]})."
    for name, value in cells:
        if isinstance(value, float) and (not math.isfinite(value) or abs(value) > MOST):
            return f"Its {name} is {value:g}: a finite number below {MOST:g} was expected."
        if isinstance(value, int) and not 0 <= value <= MOST_WHOLE:
            return f"Its {name} is {value}: a whole number from 0 to {MOST_WHOLE} was expected."
        if isinstance(value, str) and (len(value) > LONGEST or "\0" in value):
            return f"Its {name} is no text that a store keeps: at most {LONGEST} characters, none of them zero."
    return ""


def row_refusal(theirs: Connection, table: Table, row: Values) -> str:
    """Why a row of another store, besides those of runs, cannot be read back as what it is; empty when it can."""
    try:
        for name, follows in FOLLOWS[table.name](theirs, row).items():
            if row[name] != follows:
                return f"Its {name} is {str(row[name])[:40]!r}, and {str(follows)[:40]!r} follows from the rest."
    except (ValueError, KeyError, TypeError, RecursionError, ArithmeticError) as error:
        return f"It cannot be read ({str(error).splitlines()[0][:200]})."
    if odd := next(filter(None, (_odd(row[name]) for name in MOMENTS if row.get(name))), ""):
        return odd
    return cells_refusal(row)


def cells_refusal(row: Values) -> str:
    """The first text or whole number in a row that a store cannot keep, in a sentence; empty when there is none."""
    for name, value in row.items():
        if isinstance(value, int) and not 0 <= value <= MOST_WHOLE:
            return f"Its {name} is {value:.40g}: a whole number from 0 to {MOST_WHOLE} was expected."
        if isinstance(value, str) and (len(value) > LONGEST or "\0" in value):
            return f"Its {name} is no text that a store keeps: at most {LONGEST} characters, none of them zero."
    return ""


def _odd(moment: str) -> str:
    if moment < EARLIEST:
        return f"It is of {moment[:10]}, before there was such a bench: check the clock of that computer."
    if moment <= stamp(datetime.now(UTC) + AHEAD):
        return ""
    return f"It is of {moment[:10]}, which is still to come: check the clock of that computer."


def _part_event(_: Connection, row: Values) -> dict[str, object]:
    event = PartEvent.model_validate_json(row["body"])
    return dict(
        id=event.id, part=event.part, at=stamp(event.at), kind=event.kind.value, written=_stamped(row, "written")
    )


def _crate(_: Connection, row: Values) -> dict[str, object]:
    if not crates.NAME.fullmatch(row["name"]):
        raise ValueError("that is no name of a crate")
    return dict(begun=_stamped(row, "begun"))


def _crate_event(_: Connection, row: Values) -> dict[str, object]:
    event = CrateEvent.model_validate_json(row["body"])
    return crates.columns(event)


def _calibration(_: Connection, row: Values) -> dict[str, object]:
    record = CalibrationRecord.model_validate_json(row["record"])
    at = record.calibration.taken_at
    board = dict(board_kind=record.board.kind, board_serial=record.board.serial, simulated=record.simulated)
    return dict(taken_at=at and stamp(at), **board)


def _golden(_: Connection, row: Values) -> dict[str, object]:
    if not PART_ID.fullmatch(row["part"]):
        raise ValueError("that is no id of a part")
    return dict(marked=_stamped(row, "marked"))


def _rejudged(theirs: Connection, row: Values) -> dict[str, object]:
    judgement = judgements.one(theirs, row["id"])
    return dict(run=judgement.run, at=stamp(judgement.at))


def _stamped(row: Values, name: str) -> str:
    return stamp(datetime.fromisoformat(row[name]))


FOLLOWS: dict[str, Callable[[Connection, Values], dict[str, object]]] = {
    tables.part_event.name: _part_event, tables.crate.name: _crate, tables.crate_event.name: _crate_event,
    tables.calibration.name: _calibration, tables.golden.name: _golden, tables.rejudged.name: _rejudged,
}  # fmt: skip
"""Of each table: columns as they follow from the noun in the row; raises where there is none."""


def _cells(record: RunRecord) -> Iterator[tuple[str, object]]:
    """Names and values, as they stand in the tables."""
    plan, board = record.plan, record.board
    yield from (("seed", record.seed), ("board number", board.serial), ("protocol version", plan.version))
    yield from (("time on the bench", record.bench_s), ("protocol", plan.text), ("specimen", record.specimen))
    yield from (("operator", record.operator), ("software", record.software), ("firmware", board.firmware))
    yield "siblings", record.siblings and record.siblings.model_dump_json()
    yield from record.part.model_dump().items()
    for row in rows.measurement_rows(record.run, record):
        yield from row.items()
