"""Version 6: the chain, texts kept once, later judgements. What is there already is linked as it is found."""

from collections.abc import Iterator

from alembic import op
from sqlalchemy import BigInteger, Column, Connection, ForeignKey, Integer, MetaData, select

from pulldrop.store import chain
from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT, text

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Make the tables, and link every row from before."""
    document = op.create_table("document", Column("sha256", TEXT, primary_key=True), text("body"))
    rejudged = op.create_table(
        "rejudged", Column("id", TEXT, primary_key=True),
        Column("run", TEXT, ForeignKey("run.id"), nullable=False, index=True),
        text("at"), text("plan"), text("decisions"), text("faults"), text("overall"), text("found"), text("means"),
        text("next"), text("software"), text("operator"),
    )  # fmt: skip
    link = op.create_table(
        "link", Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
        text("at"), Column("run", TEXT), text("rows"), text("hash"),
    )  # fmt: skip
    connection = op.get_bind()
    guard(connection, (document, rejudged, link))
    chain.adopt(connection, _found(connection))


OF_RUNS = ("run", "raw", "measurement", "measurement_raw", "fault", "run_end")
ALONE = ("part", "calibration", "golden", "crate", "crate_event", "part_event")
SOME = 200


def _found(connection: Connection) -> Iterator[chain.Bundle]:
    """The rows as the tables of version 5 hold them: what belongs to no run in one bundle, then each run in its own."""
    metadata = MetaData()
    metadata.reflect(connection, only=(*OF_RUNS, *ALONE))
    tables = metadata.tables
    first = chain.Bundle()
    for name in ALONE:
        for row in connection.execute(select(tables[name])).mappings():
            first.add(tables[name], row)
    if first.rows:
        yield first
    runs = list(connection.execute(select(tables["run"].c.id).order_by(tables["run"].c.started)).scalars())
    for start in range(0, len(runs), SOME):
        bundles = {run: chain.Bundle(run) for run in runs[start : start + SOME]}
        for name in OF_RUNS:
            own = tables[name].c["id" if name == "run" else "run"]
            query = select(tables[name]).where(own.in_(bundles)).order_by(*tables[name].primary_key.columns)
            for row in connection.execute(query).mappings():
                bundles[row[own.name]].add(tables[name], row)
        yield from bundles.values()
