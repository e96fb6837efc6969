"""What a record from outside must keep to, so that nothing that was taken in can later break a sum, a list or a path.

A store may move from SQLite to PostgreSQL, so whole numbers keep to the narrower of both.
"""

import math
import re
from collections.abc import Iterator

from pulldrop.model.run.record import RunRecord
from pulldrop.store.records import rows

RUN_ID = re.compile(r"\d{8}T\d{6}-[0-9A-Za-z]{1,20}")
"""Moment and random letters, as `OpenRun` gives it."""
MOST_WHOLE = 2**31 - 1
"""Of an INTEGER of PostgreSQL (appendix, numeric types)."""
MOST = 1e100
"""Of a number in SI units: its square, and the sum of a million such squares, are numbers still."""
LONGEST = 1_000_000
"""Characters of one text; the longest protocol has 10,000."""


def refusal(record: RunRecord) -> str:
    """The first thing about a record that a store cannot keep, in a sentence; empty when there is none."""
    if not RUN_ID.fullmatch(record.run):
        return f"'{record.run[:40]}' is no id of a run, such as 20260504T093015-3f9a2c."
    for name, value in _cells(record):
        if isinstance(value, float) and (not math.isfinite(value) or abs(value) > MOST):
            return f"Its {name} is {value:g}: a finite number below {MOST:g} was expected."
        if isinstance(value, int) and not 0 <= value <= MOST_WHOLE:
            return f"Its {name} is {value}: a whole number from 0 to {MOST_WHOLE} was expected."
        if isinstance(value, str) and (len(value) > LONGEST or "\0" in value):
            return f"Its {name} is no text that a store keeps: at most {LONGEST} characters, none of them zero."
    return ""


def _cells(record: RunRecord) -> Iterator[tuple[str, object]]:
    """Names and values, as they stand in the tables."""
    plan, board = record.plan, record.board
    yield from (("seed", record.seed), ("board number", board.serial), ("protocol version", plan.version))
    yield from (("time on the bench", record.bench_s), ("protocol", plan.text), ("specimen", record.specimen))
    yield from (("operator", record.operator), ("software", record.software), ("firmware", board.firmware))
    yield from record.part.model_dump().items()
    for row in rows.measurement_rows(record.run, record):
        yield from row.items()
