"""Version 7: births, by which a part is known whatever its id. Parts from before get that of their first run or event.

Two stores that hold the same run or event by an import so give the same birth to its part, each by itself.
"""

import hashlib
from collections.abc import Iterator

from alembic import op
from sqlalchemy import Column, Connection, MetaData, Table, select

from pulldrop.store import chain
from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT

revision = "0007"
down_revision = "0006"
SOME = 200


def upgrade() -> None:
    """Make the table, and give every part from before its birth."""
    birth = op.create_table(
        "birth", Column("birth", TEXT, primary_key=True), Column("part", TEXT, nullable=False, index=True)
    )
    connection = op.get_bind()
    guard(connection, (birth,))
    rows = [{"birth": first, "part": part} for part, first in _firsts(connection).items()]
    if rows:
        op.bulk_insert(birth, rows)
        chain.adopt(connection, _linked(birth, rows))


def _firsts(connection: Connection) -> dict[str, str]:
    """By part: the id of its first run or event; of a part that has neither, a digest of its description."""
    metadata = MetaData()
    metadata.reflect(connection, only=("part", "run", "part_event"))
    part, run, event = (metadata.tables[name].c for name in ("part", "run", "part_event"))
    described = connection.execute(select(part.id, part.form, part.label, part.donor).order_by(part.key.desc()))
    found = {row.id: hashlib.sha256("\n".join(row).encode()).hexdigest() for row in described}
    runs = select(part.id, run.started, run.id).join(metadata.tables["run"], run.part == part.key)
    events = select(event.part, event.written, event.id)
    happened = [*connection.execute(runs), *connection.execute(events)]
    for id, _, first in sorted(happened, key=lambda row: row[1:], reverse=True):
        found[id] = first
    return found


def _linked(birth: Table, rows: list[dict[str, str]]) -> Iterator[chain.Bundle]:
    for start in range(0, len(rows), SOME):
        yield chain.Bundle(rows=[(birth, row) for row in rows[start : start + SOME]])
