"""Views over many runs: one part's history, the search for a part, the whole fleet.

Rule: what is shown of one run or part says simulated or real, and the fleet is never a mixture of both.
"""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from itertools import groupby
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, func, select

from pulldrop.model.judgement import Judgement
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.reading import Condition
from pulldrop.model.verdict import Outcome
from pulldrop.store import chain, judgements, read, tables
from pulldrop.store.read import PartLine, RunLine
from pulldrop.store.summary import EPOCH_S, YEAR_S, words
from pulldrop.store.sums import part_figure, part_now, part_word

FOUND_MOST = 50
FEW = 10_000
"""Parts that are sorted by their age within some milliseconds."""
LISTED_MOST = 50
ODD_SPREADS = 3.0
"""A figure farther from the mean of its siblings than so many standard deviations is shown as odd."""
SIBLINGS_LEAST = 5


@dataclass(frozen=True, slots=True)
class Point:
    """One measurement of one run, as a history shows it. `value` and `u` (expanded) in `unit`; u is 0 for a bound.

    `not_tested` is the reason, empty for a reading; `state` the state of the contacts.
    """

    run: str
    at: datetime
    id: str
    outcome: Outcome
    unit: str = ""
    value: float | None = None
    u: float = 0.0
    bound: str = "="
    state: str | None = None
    not_tested: str = ""
    limit: str | None = None
    low: float | None = None
    high: float | None = None
    limit_source: str = ""
    conditions: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class History:
    """Everything that was measured on one part, the oldest first, and every later judgement."""

    part: PartLine
    runs: tuple[RunLine, ...]
    points: tuple[Point, ...]
    judgements: tuple[Judgement, ...]


@dataclass(frozen=True, slots=True)
class GroupLine:
    """Parts of one rating or one donor: how many, how many runs, how many failed in their last run."""

    name: str
    parts: int
    runs: int
    failed: int


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One figure of all parts of one rating: mean and standard deviation of the last readings, in `unit`.

    `per_year`: mean slope of the straight lines of those `followed` parts that were read often enough.
    """

    rating: str
    id: str
    unit: str
    parts: int
    mean: float
    spread: float
    followed: int
    per_year: float | None


@dataclass(frozen=True, slots=True)
class Due:
    """A part whose straight line meets a limit next; `at` is the time of its last reading when it is beyond it."""

    part: str
    rating: str
    donor: str
    id: str
    unit: str
    last: float
    per_year: float | None
    at: datetime


@dataclass(frozen=True, slots=True)
class Odd:
    """A part outside its siblings."""

    part: str
    donor: str
    id: str
    unit: str
    last: float
    siblings: FigureLine


@dataclass(frozen=True, slots=True)
class Fleet:
    """The whole of the real parts, or of the simulated ones. The lists hold the first LISTED_MOST, the worst first."""

    simulated: bool
    ratings: tuple[GroupLine, ...]
    donors: tuple[GroupLine, ...]
    figures: tuple[FigureLine, ...]
    due: tuple[Due, ...]
    odd: tuple[Odd, ...]


@dataclass(frozen=True, slots=True)
class Info:
    """A store: `bytes` on its disk, `head` of its chain, and how many rows of each kind."""

    store: str
    database: str
    version: int
    bytes: int
    entries: int
    head: str
    parts: int
    runs: int
    measurements: int


SIZE = {
    "sqlite": "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()",
    "postgresql": "SELECT pg_database_size(current_database())",
}


def info(connection: Connection, store: str) -> Info:
    """Counted from the working sums and the chain, where counting rows would take long."""
    head, own = chain.head(connection), part_now.c
    parts, runs = connection.execute(select(func.count(), func.coalesce(func.sum(own.runs), 0))).one()
    kind = connection.dialect.name
    return Info(
        store=store,
        database="PostgreSQL" if kind == "postgresql" else "SQLite",
        version=tables.VERSION,
        bytes=int(connection.exec_driver_sql(SIZE[kind]).scalar_one()),
        entries=head.seq,
        head=str(head),
        parts=parts,
        runs=int(runs),
        measurements=connection.execute(select(func.count()).select_from(tables.measurement)).scalar_one(),
    )


def moment(years: float) -> datetime:
    """A time of the working sums."""
    return datetime.fromtimestamp(EPOCH_S + years * YEAR_S, UTC)


_own = tables.measurement.c
_OF_POINT: tuple[Any, ...] = (
    _own.run, _own.id, _own.outcome, _own.unit, _own.value, _own.expanded_uncertainty, _own.bound, _own.state,
    _own.not_tested, _own.limit_text, _own.limit_low, _own.limit_high, _own.limit_source, _own.limit_known,
    _own.conditions,
)  # fmt: skip


def history(connection: Connection, store: str, part_id: str) -> History:
    """One part's. Raises NotKept."""
    own, run = tables.measurement, tables.run
    joined = own.join(run, own.c.run == run.c.id).join(tables.part, run.c.part == tables.part.c.key)
    query: Select[Any] = select(*_OF_POINT, run.c.started).select_from(joined).where(tables.part.c.id == part_id)
    rows = connection.execute(query.order_by(run.c.started, run.c.id, own.c.seq))
    runs = read.runs(connection, store, part_id)
    return History(
        part=read.part(connection, store, part_id),
        runs=runs,
        points=tuple(map(_point, rows)),
        judgements=judgements.of_part(connection, part_id),
    )


def newest_points(connection: Connection, simulated: bool) -> dict[str, tuple[Point, ...]]:
    """By part: what its last run measured."""
    joined = part_now.join(tables.measurement, _own.run == part_now.c.run)
    query: Select[Any] = select(part_now.c.id.label("part"), *_OF_POINT, part_now.c.started).select_from(joined)
    rows = connection.execute(query.where(part_now.c.simulated == simulated).order_by(part_now.c.id, _own.seq))
    return {part: tuple(map(_point, of)) for part, of in groupby(rows, key=lambda row: row.part)}


def foretold(connection: Connection, simulated: bool, least: int) -> frozenset[str]:
    """Parts of which a straight line through at least so many readings of one figure meets a limit."""
    own = part_figure.c
    query = select(own.part).where(own.simulated == simulated, own.limit_at.is_not(None), own.readings >= least)
    return frozenset(connection.execute(query).scalars())


@lru_cache(maxsize=4096)
def _conditions(text: str) -> tuple[Condition, ...]:
    """Most readings share theirs with others."""
    return tuple(Condition.model_validate(one) for one in json.loads(text))


def _point(row: Row[Any]) -> Point:
    return Point(
        run=row.run,
        at=datetime.fromisoformat(row.started),
        id=row.id,
        outcome=Outcome(row.outcome),
        unit=row.unit or "",
        value=row.value,
        u=row.expanded_uncertainty or 0.0,
        bound=row.bound or "=",
        state=row.state,
        not_tested=row.not_tested or "",
        limit=row.limit_text,
        low=row.limit_low,
        high=row.limit_high,
        limit_source=f"{row.limit_known}: {row.limit_source}" if row.limit_source else "",
        conditions=_conditions(row.conditions or "[]"),
    )


def search(connection: Connection, text: str) -> tuple[PartLine, ...]:
    """Parts in whose id, label, donor or notes, now or once, every word of `text` begins a word; the newest first.

    Few parts are sorted by their age; where every word has many, parts are looked at from the newest on until enough
    are found.
    """
    asked = sorted((_hits(connection, word), word) for word in words(text))
    if not asked:
        return ()
    (fewest, rarest), *others = asked
    first = part_now.c.id.in_(_beginning(rarest)) if fewest <= FEW else _has(rarest)
    query = select(part_now).where(first, *(_has(word) for _, word in others))
    rows = connection.execute(query.order_by(part_now.c.started.desc(), part_now.c.id).limit(FOUND_MOST))
    return read.part_lines(connection, rows.all())


def _beginning(word: str) -> Select[tuple[str]]:
    own = part_word.c
    return select(own.part).where(own.word >= word, own.word < word + "\U0010ffff")


def _has(word: str) -> ColumnElement[bool]:
    return _beginning(word).where(part_word.c.part == part_now.c.id).exists()


def _hits(connection: Connection, word: str) -> int:
    """How often a word is begun so, at most one more than FEW."""
    some = _beginning(word).limit(FEW + 1).subquery()
    return int(connection.execute(select(func.count()).select_from(some)).scalar_one())


def fleet(connection: Connection, simulated: bool) -> Fleet:
    """The view of all parts that are real, or of all that are simulated."""
    figures = _figures(connection, simulated)
    return Fleet(
        simulated=simulated,
        ratings=_groups(connection, "rating", simulated),
        donors=_groups(connection, "donor", simulated),
        figures=figures,
        due=_due(connection, simulated),
        odd=_odd(connection, simulated, figures),
    )


def _groups(connection: Connection, column: str, simulated: bool) -> tuple[GroupLine, ...]:
    own = part_now.c
    failed = func.count().filter(own.overall == "fail")
    query = select(own[column], func.count(), func.sum(own.runs), failed).where(
        own.simulated == simulated, own.runs > 0
    )
    rows = connection.execute(query.group_by(own[column]).order_by(func.count().desc(), own[column]))
    return tuple(GroupLine(name, parts, int(runs), bad) for name, parts, runs, bad in rows)


def _figures(connection: Connection, simulated: bool) -> tuple[FigureLine, ...]:
    """From the index of siblings alone: it holds all that is asked here, in this order."""
    own = part_figure.c
    sums = (func.count(), func.avg(own.last), func.avg(own.last * own.last), func.count(own.per_year),
            func.avg(own.per_year))  # fmt: skip
    query = select(own.rating, own.id, *sums).where(own.simulated == simulated)
    rows = connection.execute(query.group_by(own.rating, own.id).order_by(own.rating, own.id))
    return tuple(
        FigureLine(
            rating, id, MEASUREMENTS[id].unit, parts, mean, max(0.0, square - mean * mean) ** 0.5, followed, per_year
        )
        for rating, id, parts, mean, square, followed, per_year in rows
    )


def _due(connection: Connection, simulated: bool) -> tuple[Due, ...]:
    now, own = part_now.c, part_figure.c
    columns = (own.part, own.rating, now.donor, own.id, own.unit, own.last, own.per_year, own.limit_at)
    joined = part_figure.join(part_now, own.part == now.id)
    query = select(*columns).select_from(joined).where(own.limit_at.is_not(None), own.simulated == simulated)
    rows = connection.execute(query.order_by(own.limit_at).limit(LISTED_MOST))
    return tuple(
        Due(row.part, row.rating, row.donor, row.id, row.unit, row.last, row.per_year, moment(row.limit_at))
        for row in rows
    )


def _odd(connection: Connection, simulated: bool, figures: tuple[FigureLine, ...]) -> tuple[Odd, ...]:
    """The farthest from its siblings first, in their standard deviations."""
    found = [one for line in figures if line.parts >= SIBLINGS_LEAST for one in _odd_of(connection, simulated, line)]
    found.sort(key=lambda one: (-abs(one.last - one.siblings.mean) / one.siblings.spread, one.part))
    return tuple(found[:LISTED_MOST])


def _odd_of(connection: Connection, simulated: bool, line: FigureLine) -> list[Odd]:
    own, now = part_figure.c, part_now.c
    far = ODD_SPREADS * line.spread
    same = select(own.part, now.donor, own.last).select_from(part_figure.join(part_now, own.part == now.id)).where(
        own.simulated == simulated, own.rating == line.rating, own.id == line.id
    )  # fmt: skip
    above = same.where(own.last > line.mean + far).order_by(own.last.desc()).limit(LISTED_MOST)
    below = same.where(own.last < line.mean - far).order_by(own.last).limit(LISTED_MOST)
    rows = [row for query in (above, below) if line.spread for row in connection.execute(query)]
    return [Odd(row.part, row.donor, line.id, line.unit, row.last, line) for row in rows]
