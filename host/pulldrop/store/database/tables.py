"""The tables of records. Rule: rows are only ever added; triggers refuse every change and removal.

A run without a row in `run_end` never ended: there is no state to forget to write. A change here needs a step
in `version.py`.
"""

from sqlalchemy import (
    BigInteger,
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

APPLICATION = 0x70756C6C
"""Kept as SQLite's application_id ("pull"), so that no other program's database is taken for a store."""

metadata = MetaData()

TEXT = String().with_variant(String(collation="C"), "postgresql")
"""Ordered by bytes in every database, whatever its language, so that the text order of times is their order."""
LONG = BigInteger().with_variant(Integer, "sqlite")


def text(name: str) -> Column[str]:
    """A column of text that every row fills."""
    return Column(name, TEXT, nullable=False)


def _number() -> Column[int]:
    """A key that the store counts up by itself; databases differ in how they would."""
    return Column("key", Integer, primary_key=True, autoincrement=False)


def _run_key() -> Column[str]:
    return Column("run", TEXT, ForeignKey("run.id"), primary_key=True)


# A part's description may be corrected: then a new row with the same id is added, and the last one counts.
# `own`: JSON of what parts of its kind alone have, such as a relay its contact form.
part = Table(
    "part",
    metadata,
    _number(),
    Column("id", TEXT, nullable=False, index=True),
    Column("simulated", Boolean, nullable=False),
    text("kind"),
    text("own"),
    text("label"),
    text("donor"),
    text("notes"),
)

# Which part an id means, whatever other store gave out the same id: marks that no two parts share. A part has one from
# the beginning, and more when parts of two stores were found to be one.
birth = Table(
    "birth",
    metadata,
    Column("birth", TEXT, primary_key=True),
    Column("part", TEXT, nullable=False, index=True),
)

# Times are UTC in ISO 8601, so that text order is time order. JSON columns hold the nouns of the model.
# protocol_text, plan, board, calibration and specimen are texts that repeat: see texts.py.
run = Table(
    "run",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("part", Integer, ForeignKey("part.key"), nullable=False, index=True),
    Column("simulated", Boolean, nullable=False),
    text("started"),
    text("protocol"),
    Column("protocol_version", Integer, nullable=False),
    text("protocol_sha256"),
    text("protocol_text"),
    text("rating"),
    text("plan"),
    text("board_kind"),
    Column("board_serial", Integer, nullable=False),
    text("firmware"),
    text("board"),
    text("calibration"),
    text("software"),
    text("operator"),
    text("specimen"),
    Column("seed", Integer),
)

measurement = Table(
    "measurement",
    metadata,
    _run_key(),
    Column("seq", Integer, primary_key=True),
    text("id"),
    Column("simulated", Boolean, nullable=False),
    text("outcome"),
    text("reason"),
    Column("not_tested", TEXT),
    Column("because", TEXT),
    Column("value", Float),
    Column("unit", TEXT),
    Column("state", TEXT),
    Column("bound", TEXT),
    Column("expanded_uncertainty", Float),
    Column("limit_text", TEXT),
    Column("limit_low", Float),
    Column("limit_high", Float),
    Column("limit_state", TEXT),
    Column("limit_unit", TEXT),
    Column("limit_source", TEXT),
    Column("limit_known", TEXT),
    Column("conditions", TEXT),
    Column("budget", TEXT),
    Column("makes", TEXT),
    Column("grade", TEXT),
)

# Captures and counts, zlib-compressed JSON, once a run however many readings rest on them.
raw = Table(
    "raw",
    metadata,
    _run_key(),
    Column("sha256", TEXT, primary_key=True),
    Column("body", LargeBinary, nullable=False),
)

measurement_raw = Table(
    "measurement_raw",
    metadata,
    Column("run", TEXT, primary_key=True),
    Column("seq", Integer, primary_key=True),
    Column("position", Integer, primary_key=True),
    text("sha256"),
    ForeignKeyConstraint(["run", "seq"], ["measurement.run", "measurement.seq"]),
    ForeignKeyConstraint(["run", "sha256"], ["raw.run", "raw.sha256"]),
)

run_end = Table(
    "run_end",
    metadata,
    _run_key(),
    text("ended"),
    Column("bench_s", Float, nullable=False),
    Column("measurements", Integer, nullable=False),
    text("overall"),
    text("found"),
    text("means"),
    text("next"),
    Column("mark", TEXT),
    Column("unlike", TEXT),
)

# What the diagnosis named, the most probable first; `body` is the whole of it.
fault = Table(
    "fault",
    metadata,
    _run_key(),
    Column("seq", Integer, primary_key=True),
    text("id"),
    Column("weight", Float, nullable=False),
    text("body"),
)

# The newest of a board's own kind and serial number counts. `record` is the whole of it.
calibration = Table(
    "calibration",
    metadata,
    _number(),
    text("taken_at"),
    Column("simulated", Boolean, nullable=False),
    text("board_kind"),
    Column("board_serial", Integer, nullable=False),
    text("record"),
)

# Parts by which a bench is checked; the last row of a part counts.
golden = Table(
    "golden",
    metadata,
    _number(),
    Column("part", TEXT, nullable=False, index=True),
    Column("run", TEXT, ForeignKey("run.id"), nullable=False),
    text("marked"),
)

crate = Table(
    "crate",
    metadata,
    Column("name", TEXT, primary_key=True),
    Column("simulated", Boolean, nullable=False),
    text("begun"),
)

# What happened to a crate, in order; its tally follows from nothing else. `body` is the whole of an event.
crate_event = Table(
    "crate_event",
    metadata,
    Column("crate", TEXT, ForeignKey("crate.name"), primary_key=True),
    Column("seq", Integer, primary_key=True),
    text("at"),
    text("kind"),
    Column("number", Integer, nullable=False),
    Column("run", TEXT, ForeignKey("run.id")),
    Column("bin", TEXT),
    text("body"),
)

# What happened to parts besides tests: cards, fitted, removed, cleaned, moved, notes, photos. `at` is when it happened,
# `written` when it was kept. `body` is the whole of an event.
part_event = Table(
    "part_event",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("part", TEXT, nullable=False, index=True),
    Column("simulated", Boolean, nullable=False),
    text("at"),
    text("written"),
    text("kind"),
    text("body"),
)

# A text that many runs share, such as a plan, kept once. A column that holds "@" and a digest means the text here.
document = Table(
    "document",
    metadata,
    Column("sha256", TEXT, primary_key=True),
    text("body"),
)

# A later judgement of the readings of a run; the run and its own verdict stay as they are.
rejudged = Table(
    "rejudged",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("run", TEXT, ForeignKey("run.id"), nullable=False, index=True),
    text("at"),
    text("plan"),
    text("decisions"),
    text("faults"),
    text("overall"),
    text("found"),
    text("means"),
    text("next"),
    Column("mark", TEXT),
    Column("unlike", TEXT),
    text("software"),
    text("operator"),
)

# The chain: one row for each transaction. `rows` names what it wrote, `hash` covers that and the hash before.
link = Table(
    "link",
    metadata,
    Column("seq", LONG, primary_key=True, autoincrement=False),
    text("at"),
    Column("run", TEXT),
    text("rows"),
    text("hash"),
)

RECORDS = (
    part, birth, document, run, raw, measurement, measurement_raw, fault, run_end,
    calibration, golden, crate, crate_event, part_event, rejudged, link,
)  # fmt: skip
"""Every table of records, in the order in which rows that belong together are written."""
