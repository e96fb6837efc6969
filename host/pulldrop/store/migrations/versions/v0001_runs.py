"""Version 1: parts, runs, measurements, raw data."""

from alembic import op
from sqlalchemy import Boolean, Column, Float, ForeignKey, ForeignKeyConstraint, Integer, LargeBinary

from pulldrop.store.guards import guard
from pulldrop.store.migrations.columns import TEXT, number, run_key, text

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    part = op.create_table(
        "part", number(), Column("id", TEXT, nullable=False, index=True), Column("simulated", Boolean, nullable=False),
        text("form"), text("label"), text("donor"), text("notes"),
    )  # fmt: skip
    run = op.create_table(
        "run",
        Column("id", TEXT, primary_key=True),
        Column("part", Integer, ForeignKey("part.key"), nullable=False, index=True),
        Column("simulated", Boolean, nullable=False),
        text("started"), text("protocol"), Column("protocol_version", Integer, nullable=False),
        text("protocol_sha256"), text("protocol_text"), text("rating"), text("plan"), text("board_kind"),
        Column("board_serial", Integer, nullable=False), text("firmware"), text("board"), text("calibration"),
        text("software"), text("operator"), text("specimen"), Column("seed", Integer),
    )  # fmt: skip
    measurement = op.create_table(
        "measurement",
        run_key(),
        Column("seq", Integer, primary_key=True),
        text("id"), Column("simulated", Boolean, nullable=False), text("outcome"), text("reason"),
        Column("not_tested", TEXT), Column("without_load", Boolean), Column("value", Float),
        Column("unit", TEXT), Column("state", TEXT), Column("bound", TEXT), Column("expanded_uncertainty", Float),
        Column("limit_text", TEXT), Column("limit_low", Float), Column("limit_high", Float),
        Column("limit_state", TEXT), Column("limit_unit", TEXT), Column("limit_source", TEXT),
        Column("limit_known", TEXT), Column("conditions", TEXT), Column("budget", TEXT), Column("makes", TEXT),
    )  # fmt: skip
    raw = op.create_table(
        "raw", run_key(), Column("sha256", TEXT, primary_key=True), Column("body", LargeBinary, nullable=False)
    )
    measurement_raw = op.create_table(
        "measurement_raw",
        Column("run", TEXT, primary_key=True),
        Column("seq", Integer, primary_key=True),
        Column("position", Integer, primary_key=True),
        text("sha256"),
        ForeignKeyConstraint(["run", "seq"], ["measurement.run", "measurement.seq"]),
        ForeignKeyConstraint(["run", "sha256"], ["raw.run", "raw.sha256"]),
    )
    run_end = op.create_table(
        "run_end", run_key(), text("ended"), Column("bench_s", Float, nullable=False),
        Column("measurements", Integer, nullable=False), text("overall"), text("found"), text("means"), text("next"),
    )  # fmt: skip
    guard(op.get_bind(), (part, run, measurement, raw, measurement_raw, run_end))
