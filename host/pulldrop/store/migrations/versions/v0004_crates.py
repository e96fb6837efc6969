"""Version 4: crates and what happened to them."""

from alembic import op
from sqlalchemy import Boolean, Column, ForeignKey, Integer

from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT, text

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the tables."""
    crate = op.create_table(
        "crate", Column("name", TEXT, primary_key=True), Column("simulated", Boolean, nullable=False), text("begun")
    )
    event = op.create_table(
        "crate_event", Column("crate", TEXT, ForeignKey("crate.name"), primary_key=True),
        Column("seq", Integer, primary_key=True), text("at"), text("kind"), Column("number", Integer, nullable=False),
        Column("run", TEXT, ForeignKey("run.id")), Column("bin", TEXT), text("body"),
    )  # fmt: skip
    guard(op.get_bind(), (crate, event))
