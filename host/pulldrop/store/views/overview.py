"""Views over many runs: one part's history, the last runs of all, the search for a part.

Rule: what is shown of one run or part says simulated or real.
"""

import json
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from itertools import groupby
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, func, select

from pulldrop.model.history.history import Measured
from pulldrop.model.part.parts_page import RunLine
from pulldrop.model.reading import Condition
from pulldrop.model.run.judgement import Judgement
from pulldrop.model.verdict import Outcome
from pulldrop.store.database import chain, tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.records import judgements, read
from pulldrop.store.records.read import PartLine
from pulldrop.store.sums import joined
from pulldrop.store.sums.summary import words
from pulldrop.store.sums.tables import part_figure, part_now, part_word

FOUND_MOST = 50
FEW = 10_000
"""Parts that are sorted by their age within some milliseconds."""


@dataclass(frozen=True, slots=True)
class History:
    """Everything that was measured on one part, the oldest first, and every later judgement."""

    part: PartLine
    runs: tuple[RunLine, ...]
    points: tuple[Measured, ...]
    judgements: tuple[Judgement, ...]


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


class Overview(Connected):
    """Histories, the last runs of all parts, and the search for a part."""

    def history(self, part_id: str) -> History:
        """Everything that was measured on one part. Raises NotKept."""
        with self.reading(f"part {part_id}") as connection:
            own, run, ids = tables.measurement, tables.run, joined.ids_of(connection, part_id)
            source = own.join(run, own.c.run == run.c.id).join(tables.part, run.c.part == tables.part.c.key)
            query: Select[Any] = select(*_OF_POINT, run.c.started).select_from(source).where(tables.part.c.id.in_(ids))
            rows = connection.execute(query.order_by(run.c.started, run.c.id, own.c.seq))
            runs = read.runs(connection, self.name, part_id)
            return History(
                part=read.part(connection, self.name, part_id),
                runs=runs,
                points=tuple(map(_point, rows)),
                judgements=judgements.of_part(connection, ids),
            )

    def newest_points(self, simulated: bool) -> dict[str, tuple[Measured, ...]]:
        """By part: what its last run measured; of all real parts, or of all simulated ones."""
        with self.reading("the last runs") as connection:
            joined = part_now.join(tables.measurement, _own.run == part_now.c.run)
            query: Select[Any] = select(part_now.c.id.label("part"), *_OF_POINT, part_now.c.started).select_from(joined)
            rows = connection.execute(query.where(part_now.c.simulated == simulated).order_by(part_now.c.id, _own.seq))
            return {part: tuple(map(_point, of)) for part, of in groupby(rows, key=lambda row: row.part)}

    def foretold(self, simulated: bool, least: int) -> frozenset[str]:
        """Parts with a straight line, through at least so many readings of one figure, that meets a limit."""
        with self.reading("the working sums") as connection:
            own = part_figure.c
            query = select(own.part).where(own.simulated == simulated, own.limit_at.is_not(None), own.readings >= least)
            return frozenset(connection.execute(query).scalars())

    def search(self, text: str) -> tuple[PartLine, ...]:
        """Parts by words of their id, label, donor or notes; the newest first, at most overview.FOUND_MOST."""
        with self.reading("the words of parts") as connection:
            asked = sorted((_hits(connection, word), word) for word in words(text))
            if not asked:
                return ()
            (fewest, rarest), *others = asked
            first = part_now.c.id.in_(_beginning(rarest)) if fewest <= FEW else _has(rarest)
            query = select(part_now).where(first, *(_has(word) for _, word in others))
            rows = connection.execute(query.order_by(part_now.c.started.desc(), part_now.c.id).limit(FOUND_MOST))
            return read.part_lines(connection, rows.all())


def info(connection: Connection, store: str, version: int) -> Info:
    """Counted from the working sums and the chain, where counting rows would take long."""
    head, own = chain.head(connection), part_now.c
    parts, runs = connection.execute(select(func.count(), func.coalesce(func.sum(own.runs), 0))).one()
    kind = connection.dialect.name
    return Info(
        store=store,
        database="PostgreSQL" if kind == "postgresql" else "SQLite",
        version=version,
        bytes=int(connection.exec_driver_sql(SIZE[kind]).scalar_one()),
        entries=head.seq,
        head=str(head),
        parts=parts,
        runs=int(runs),
        measurements=connection.execute(select(func.count()).select_from(tables.measurement)).scalar_one(),
    )


_own = tables.measurement.c
_OF_POINT: tuple[Any, ...] = (
    _own.run, _own.id, _own.outcome, _own.unit, _own.value, _own.expanded_uncertainty, _own.bound,
    _own.limit_text, _own.limit_low, _own.limit_high, _own.limit_source, _own.limit_known, _own.conditions,
)  # fmt: skip


@lru_cache(maxsize=4096)
def _conditions(text: str) -> tuple[Condition, ...]:
    """Most readings share theirs with others."""
    return tuple(Condition.model_validate(one) for one in json.loads(text))


def _point(row: Row[Any]) -> Measured:
    return Measured(
        run=row.run,
        at=datetime.fromisoformat(row.started),
        id=row.id,
        outcome=Outcome(row.outcome),
        unit=row.unit or "",
        value=row.value if row.bound == "=" else None,
        expanded=row.expanded_uncertainty or 0.0,
        conditions=_conditions(row.conditions or "[]"),
        limit=row.limit_text or "",
        limit_source=f"{row.limit_known}: {row.limit_source}" if row.limit_source else "",
        low=row.limit_low,
        high=row.limit_high,
    )


def _beginning(word: str) -> Select[tuple[str]]:
    own = part_word.c
    return select(own.part).where(own.word >= word, own.word < word + "\U0010ffff")


def _has(word: str) -> ColumnElement[bool]:
    return _beginning(word).where(part_word.c.part == part_now.c.id).exists()


def _hits(connection: Connection, word: str) -> int:
    """How often a word is begun so, at most one more than FEW."""
    some = _beginning(word).limit(FEW + 1).subquery()
    return int(connection.execute(select(func.count()).select_from(some)).scalar_one())
