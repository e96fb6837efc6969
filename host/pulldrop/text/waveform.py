"""A waveform that another instrument captured: CSV text to checked columns, or every problem with line and column.

Rule: one line of names, each with its unit, then numbers; the coil is switched at time 0. A name that is not known here
is refused. Lines that begin with `#` are remarks for people.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pulldrop.model.wording.near import hint
from pulldrop.text.file import refuse_obeyed, text_in
from pulldrop.text.problem import MOST_SHOWN, BadText, Problem

MOST_BYTES, MOST_ROWS, MOST_LETTERS = 32 * 1024 * 1024, 1_000_000, 2000
"""Far above what an oscilloscope gives of one switching, and in one line; more is refused."""
TIMES = {"time_s": 1.0, "time_ms": 1e-3, "time_us": 1e-6}
AMPS = {"coil_a": 1.0, "coil_ma": 1e-3}
CONTACTS = ("no", "nc")
"""1 closed, 0 open."""
COLUMNS = (*TIMES, *AMPS, *CONTACTS)
MOST_S, MOST_A = 10.0, 10.0
"""A time or a current beyond these is in another unit than its column says."""
LEAST_S, SPACING_S = 8e-3, 0.2e-3
"""What must be seen after the switching, and the widest gap between rows that still shows how an armature moves."""


@dataclass(frozen=True, slots=True)
class Waveform:
    """One switching of a coil. Seconds after the switching, rising, at least one of them not above 0; amps of the coil,
    and whether each contact is closed, row by row; None for a column that the file lacks. `remarks` as written."""

    file: str
    seconds: tuple[float, ...]
    amps: tuple[float, ...] | None
    no: tuple[bool, ...] | None
    nc: tuple[bool, ...] | None
    remarks: tuple[str, ...]


def load_waveform(path: Path) -> Waveform:
    """The waveform in a file. Raises BadText with every problem of it."""
    name, lines = str(path), _lines(path)
    remarks = tuple(line.lstrip("# ").rstrip() for line in lines if line.startswith("#"))
    written = [(n, line) for n, line in enumerate(lines, start=1) if line.strip() and not line.startswith("#")]
    if not written:
        raise BadText([Problem(name, 0, 0, "has no line of names; expected such as 'time_ms,coil_ma,no,nc'")])
    names = _names(name, *written[0])
    if len(written) > MOST_ROWS:
        raise BadText([Problem(name, 0, 0, f"has more than {MOST_ROWS} rows; expected one switching of the coil")])
    problems: list[Problem] = []
    columns: list[list[float]] = [[] for _ in names]
    for number, line in written[1:]:
        for problem in _row(name, number, line, names, columns):
            problems.append(problem)
        if len(problems) > MOST_SHOWN:
            break
    problems += [] if problems else _course(name, columns[0], [n for n, _ in written[1:]])
    if problems:
        raise BadText(problems)
    of = {key: tuple(values) for key, values in zip(names, columns, strict=True)}
    amps = next((of[key] for key in AMPS if key in of), None)
    no, nc = (tuple(map(bool, of[key])) if key in of else None for key in CONTACTS)
    return Waveform(name, tuple(columns[0]), amps, no, nc, remarks)


def _lines(path: Path) -> list[str]:
    text = text_in(path, MOST_BYTES, "one switching of the coil").replace("\r\n", "\n")
    refuse_obeyed(text, str(path))
    lines = text.split("\n")
    for number, line in enumerate(lines, start=1):
        if len(line) > MOST_LETTERS:
            says = f"has {len(line)} characters; expected at most {MOST_LETTERS} in a line"
            raise BadText([Problem(str(path), number, 1, says)])
    return lines


def _names(file: str, line: int, written: str) -> tuple[str, ...]:
    cells = written.split(",")
    if len(cells) > len(COLUMNS):
        raise BadText([Problem(file, line, 1, f"{len(cells)} columns; expected some of {', '.join(COLUMNS)}")])
    names = tuple(one.strip().lower() for one in cells)
    problems, column = [], 1
    for place, one in enumerate(names):
        if one not in COLUMNS:
            says = f"'{one[:40]}' is no column of a waveform; {hint(one, list(COLUMNS))}"
            problems.append(Problem(file, line, column, says))
        elif one in names[:place] or (one in AMPS and any(other in AMPS for other in names[:place])):
            problems.append(Problem(file, line, column, f"'{one}' is there twice"))
        column += len(cells[place]) + 1
    if not problems and names[0] not in TIMES:
        problems.append(Problem(file, line, 1, f"the first column is time; expected {', '.join(TIMES)}"))
    if not problems and (len(names) < 2 or any(one in TIMES for one in names[1:])):
        problems.append(Problem(file, line, 1, "expected one column of time, and coil current or contacts beside it"))
    if problems:
        raise BadText(problems)
    return names


def _row(file: str, line: int, written: str, names: tuple[str, ...], columns: list[list[float]]) -> Iterator[Problem]:
    """The numbers of one row go into `columns`, in SI; what is wrong with them comes back."""
    cells = written.split(",")
    if len(cells) != len(names):
        yield Problem(file, line, 1, f"{len(cells)} values; expected {len(names)}, as the line of names has")
        return
    column = 1
    for cell, name, values in zip(cells, names, columns, strict=True):
        value = _number(cell)
        if value is None:
            yield Problem(file, line, column, f"'{name}': '{cell.strip()[:40]}' is no number")
        elif name in CONTACTS and value not in (0.0, 1.0):
            yield Problem(file, line, column, f"'{name}': {cell.strip()[:40]}; expected 1 for closed or 0 for open")
        elif (name in TIMES and abs(value * TIMES[name]) > MOST_S) or (
            name in AMPS and abs(value * AMPS[name]) > MOST_A
        ):
            most = f"{MOST_S:g} s" if name in TIMES else f"{MOST_A:g} A"
            yield Problem(file, line, column, f"'{name}': {cell.strip()[:40]} is beyond {most}; look at the unit")
        else:
            values.append(value * TIMES.get(name, AMPS.get(name, 1.0)))
        column += len(cell) + 1


def _number(cell: str) -> float | None:
    """A finite number, written in ASCII as programs write one."""
    try:
        value = float(cell) if cell.isascii() and "_" not in cell else math.nan
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _course(file: str, seconds: list[float], lines: list[int]) -> list[Problem]:
    """What is wrong with the times as a whole."""
    if not seconds or seconds[0] > 0:
        return [Problem(file, 0, 0, "begins after time 0, at which the coil is switched; expected a row before that")]
    for line, before, now in zip(lines[1:], seconds, seconds[1:], strict=False):
        if now <= before:
            return [Problem(file, line, 1, "time does not rise from row to row")]
        if now > 0 and now - before > SPACING_S:
            says = f"{1e3 * (now - before):.3g} ms without a row; expected one every {1e3 * SPACING_S:g} ms at least"
            return [Problem(file, line, 1, says)]
    if seconds[-1] < LEAST_S:
        says = f"ends {1e3 * seconds[-1]:.3g} ms after time 0; expected {1e3 * LEAST_S:g} ms or more"
        return [Problem(file, lines[-1], 1, says)]
    return []
