"""Version 2: calibrations and golden parts."""

from alembic import op
from sqlalchemy import Boolean, Column, ForeignKey, Integer

from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT, number, text

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables."""
    calibration = op.create_table(
        "calibration", number(), text("taken_at"), Column("simulated", Boolean, nullable=False), text("board_kind"),
        Column("board_serial", Integer, nullable=False), text("record"),
    )  # fmt: skip
    golden = op.create_table(
        "golden", number(), Column("part", TEXT, nullable=False, index=True),
        Column("run", TEXT, ForeignKey("run.id"), nullable=False), text("marked"),
    )  # fmt: skip
    guard(op.get_bind(), (calibration, golden))
