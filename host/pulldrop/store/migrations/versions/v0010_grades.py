"""Version 10: grades of contact drops on the scale of used contacts. Runs from before have none."""

from alembic import op
from sqlalchemy import Column, ForeignKeyConstraint, Integer

from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT, text

revision = "0010"
down_revision = "0009"


def upgrade() -> None:
    """Make the table."""
    grade = op.create_table(
        "grade", Column("run", TEXT, primary_key=True), Column("seq", Integer, primary_key=True), text("grade"),
        ForeignKeyConstraint(["run", "seq"], ["measurement.run", "measurement.seq"]),
    )  # fmt: skip
    guard(op.get_bind(), (grade,))
