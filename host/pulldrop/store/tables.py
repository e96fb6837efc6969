"""The tables and their version. Rule: rows are only ever added; triggers refuse every change and removal.

A run without a row in `run_end` never ended: there is no state to forget to write.
"""

from collections.abc import Iterable

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
)

VERSION = 5
"""Kept as SQLite's user_version; a store with a higher one was written by a later pulldrop. 2: calibrations;
3: what the diagnosis named; 4: crates; 5: what happened to parts."""

APPLICATION = 0x70756C6C
"""Kept as SQLite's application_id ("pull"), so that no other program's database is taken for a store."""

metadata = MetaData()


def _text(name: str) -> Column[str]:
    return Column(name, String, nullable=False)


def _run_key() -> Column[str]:
    return Column("run", String, ForeignKey("run.id"), primary_key=True)


# A part's description may be corrected: then a new row with the same id is added, and the last one counts.
part = Table(
    "part",
    metadata,
    Column("key", Integer, primary_key=True),
    Column("id", String, nullable=False, index=True),
    Column("simulated", Boolean, nullable=False),
    _text("form"),
    _text("label"),
    _text("donor"),
    _text("notes"),
)

# Times are UTC in ISO 8601, so that text order is time order. JSON columns hold the nouns of the model.
run = Table(
    "run",
    metadata,
    Column("id", String, primary_key=True),
    Column("part", Integer, ForeignKey("part.key"), nullable=False, index=True),
    Column("simulated", Boolean, nullable=False),
    _text("started"),
    _text("protocol"),
    Column("protocol_version", Integer, nullable=False),
    _text("protocol_sha256"),
    _text("protocol_text"),
    _text("rating"),
    _text("plan"),
    _text("board_kind"),
    Column("board_serial", Integer, nullable=False),
    _text("firmware"),
    _text("board"),
    _text("calibration"),
    _text("software"),
    _text("operator"),
    _text("specimen"),
    Column("seed", Integer),
)

measurement = Table(
    "measurement",
    metadata,
    _run_key(),
    Column("seq", Integer, primary_key=True),
    _text("id"),
    Column("simulated", Boolean, nullable=False),
    _text("outcome"),
    _text("reason"),
    Column("not_tested", String),
    Column("without_load", Boolean),
    Column("value", Float),
    Column("unit", String),
    Column("state", String),
    Column("bound", String),
    Column("expanded_uncertainty", Float),
    Column("limit_text", String),
    Column("limit_low", Float),
    Column("limit_high", Float),
    Column("limit_state", String),
    Column("limit_unit", String),
    Column("limit_source", String),
    Column("limit_known", String),
    Column("conditions", String),
    Column("budget", String),
    Column("makes", String),
)

# Captures and counts, zlib-compressed JSON, once a run however many readings rest on them.
raw = Table(
    "raw",
    metadata,
    _run_key(),
    Column("sha256", String, primary_key=True),
    Column("body", LargeBinary, nullable=False),
)

measurement_raw = Table(
    "measurement_raw",
    metadata,
    Column("run", String, primary_key=True),
    Column("seq", Integer, primary_key=True),
    Column("position", Integer, primary_key=True),
    _text("sha256"),
    ForeignKeyConstraint(["run", "seq"], ["measurement.run", "measurement.seq"]),
    ForeignKeyConstraint(["run", "sha256"], ["raw.run", "raw.sha256"]),
)

run_end = Table(
    "run_end",
    metadata,
    _run_key(),
    _text("ended"),
    Column("bench_s", Float, nullable=False),
    Column("measurements", Integer, nullable=False),
    _text("overall"),
    _text("found"),
    _text("means"),
    _text("next"),
)

# What the diagnosis named, the most probable first; `body` is the whole of it.
fault = Table(
    "fault",
    metadata,
    _run_key(),
    Column("seq", Integer, primary_key=True),
    _text("id"),
    Column("weight", Float, nullable=False),
    _text("body"),
)

# The newest of a board's own kind and serial number counts. `record` is the whole of it.
calibration = Table(
    "calibration",
    metadata,
    Column("key", Integer, primary_key=True),
    _text("taken_at"),
    Column("simulated", Boolean, nullable=False),
    _text("board_kind"),
    Column("board_serial", Integer, nullable=False),
    _text("record"),
)

# Parts by which a bench is checked; the last row of a part counts.
golden = Table(
    "golden",
    metadata,
    Column("key", Integer, primary_key=True),
    Column("part", String, nullable=False, index=True),
    Column("run", String, ForeignKey("run.id"), nullable=False),
    _text("marked"),
)

crate = Table(
    "crate",
    metadata,
    Column("name", String, primary_key=True),
    Column("simulated", Boolean, nullable=False),
    _text("begun"),
)

# What happened to a crate, in order; its tally follows from nothing else. `body` is the whole of an event.
crate_event = Table(
    "crate_event",
    metadata,
    Column("crate", String, ForeignKey("crate.name"), primary_key=True),
    Column("seq", Integer, primary_key=True),
    _text("at"),
    _text("kind"),
    Column("number", Integer, nullable=False),
    Column("run", String, ForeignKey("run.id")),
    Column("bin", String),
    _text("body"),
)

# What happened to parts besides tests: cards, fitted, removed, cleaned, moved, notes, photos. `at` is when it happened,
# `written` when it was kept. `body` is the whole of an event.
part_event = Table(
    "part_event",
    metadata,
    Column("id", String, primary_key=True),
    Column("part", String, nullable=False, index=True),
    Column("simulated", Boolean, nullable=False),
    _text("at"),
    _text("written"),
    _text("kind"),
    _text("body"),
)

SINCE_VERSION = {1: (), 2: (calibration, golden), 3: (fault,), 4: (crate, crate_event), 5: (part_event,)}
"""Tables by the version that brought them, for stores that were made before."""


def guards(tables: Iterable[Table]) -> list[str]:
    """The triggers that keep SQLite tables append only."""
    return [guard for table in tables for guard in _guards(table)]


def _guards(table: Table) -> list[str]:
    """Triggers of one table. Insertion is guarded too: INSERT OR REPLACE would remove the old row unseen."""
    same_key = " AND ".join(f"{c.name} = NEW.{c.name}" for c in table.primary_key.columns)
    refuse = "BEGIN SELECT RAISE(ABORT, 'the store is append only'); END"
    guards = [
        f"CREATE TRIGGER {table.name}_no_update BEFORE UPDATE ON {table.name} {refuse}",
        f"CREATE TRIGGER {table.name}_no_delete BEFORE DELETE ON {table.name} {refuse}",
        f"CREATE TRIGGER {table.name}_no_replace BEFORE INSERT ON {table.name} "
        f"WHEN EXISTS (SELECT 1 FROM {table.name} WHERE {same_key}) {refuse}",
    ]
    if table is measurement:
        guards.append(
            "CREATE TRIGGER measurement_before_end BEFORE INSERT ON measurement "
            "WHEN EXISTS (SELECT 1 FROM run_end WHERE run = NEW.run) "
            "BEGIN SELECT RAISE(ABORT, 'the run has ended'); END"
        )
    return guards
