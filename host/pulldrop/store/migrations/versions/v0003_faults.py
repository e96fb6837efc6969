"""Version 3: what the diagnosis named."""

from alembic import op
from sqlalchemy import Column, Float, Integer

from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import run_key, text

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the table."""
    fault = op.create_table(
        "fault", run_key(), Column("seq", Integer, primary_key=True), text("id"),
        Column("weight", Float, nullable=False), text("body"),
    )  # fmt: skip
    guard(op.get_bind(), (fault,))
