"""Version 5: what happened to parts besides tests."""

from alembic import op
from sqlalchemy import Boolean, Column

from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT, text

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the table."""
    event = op.create_table(
        "part_event", Column("id", TEXT, primary_key=True), Column("part", TEXT, nullable=False, index=True),
        Column("simulated", Boolean, nullable=False), text("at"), text("written"), text("kind"), text("body"),
    )  # fmt: skip
    guard(op.get_bind(), (event,))
