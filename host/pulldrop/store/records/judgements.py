"""Later judgements in the store. Rule: each is a new row that points to its run; nothing of the run is touched."""

import json
from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, select

from pulldrop.model.origin import Origin, least_known, origin_of
from pulldrop.model.part.rating import IN_SI
from pulldrop.model.run.judgement import Judgement
from pulldrop.store.database import chain, tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.database.stamps import stamp
from pulldrop.store.errors import AT, NotKept
from pulldrop.store.records import rows
from pulldrop.store.records.arrived import arrived
from pulldrop.store.records.read import plan_of, verdict_of
from pulldrop.store.records.texts import Texts, resolve


class Judgements(Connected):
    """Later judgements of runs."""

    def add_judgement(self, judgement: Judgement) -> None:
        """Keep a later judgement of a run. Raises NotKept when there is no such run."""
        with self.writing() as connection:
            if connection.execute(select(tables.run.c.id).where(tables.run.c.id == judgement.run)).first() is None:
                raise NotKept(f"The store{AT} holds no run '{judgement.run}'.", self.name)
            bundle = chain.Bundle(judgement.run)
            plan = {"text": judgement.plan.text, "plan": rows.plan_text(judgement.plan)}
            row = dict(
                id=judgement.id,
                run=judgement.run,
                at=stamp(judgement.at),
                plan=Texts(connection).refer(rows.dump(plan), bundle),
                decisions=rows.dump([one.model_dump() for one in judgement.decisions]),
                faults=rows.dump([one.model_dump() for one in judgement.faults]),
                **rows.verdict_columns(judgement.verdict),
                software=judgement.software,
                operator=judgement.operator,
                siblings=judgement.siblings and rows.dump(judgement.siblings.model_dump(mode="json")),
            )
            bundle.add(tables.rejudged, row)
            chain.append(connection, [bundle])

    def judgements(self, run_id: str) -> tuple[Judgement, ...]:
        """The later judgements of a run, the oldest first."""
        with self.reading(f"run {run_id}") as connection:
            return _all(connection, _query().where(tables.rejudged.c.run == run_id))


def of_part(connection: Connection, ids: Collection[str]) -> tuple[Judgement, ...]:
    """All of one part, under any of its ids, the oldest first."""
    return _all(
        connection,
        _query().join(tables.part, tables.run.c.part == tables.part.c.key).where(tables.part.c.id.in_(ids)),
    )


def one(connection: Connection, id: str) -> Judgement:
    """That of an id. Raises ValueError where there is none, or it makes no sense."""
    (found,) = _all(connection, _query().where(tables.rejudged.c.id == id))
    return found


def _query() -> Select[Any]:
    own = tables.rejudged.c
    joined = tables.rejudged.join(tables.run, own.run == tables.run.c.id)
    return select(tables.rejudged, tables.run.c.simulated).select_from(joined).order_by(own.at, own.id)


def _all(connection: Connection, query: Select[Any]) -> tuple[Judgement, ...]:
    found = connection.execute(query).all()
    runs = arrived(connection, tables.run, {row.run for row in found})
    own = arrived(connection, tables.rejudged, {row.id for row in found})
    return tuple(
        _judgement(connection, row, [origin_of(row.simulated, one) for one in (runs.get(row.run), own.get(row.id))])
        for row in found
    )


def _judgement(connection: Connection, row: Row[Any], origins: Iterable[Origin]) -> Judgement:
    plan = json.loads(resolve(connection, row.plan))
    plain = dict(
        id=row.id,
        run=row.run,
        at=row.at,
        simulated=row.simulated,
        origin=least_known(origins),
        plan=plan_of(plan["plan"], plan["text"]).model_dump(mode="json"),
        decisions=json.loads(row.decisions),
        faults=json.loads(row.faults),
        verdict=verdict_of(row).model_dump(),
        software=row.software,
        operator=row.operator,
        siblings=row.siblings and json.loads(row.siblings),
    )
    return Judgement.model_validate_json(json.dumps(plain, default=datetime.isoformat), context=IN_SI)
