"""The tables of records. Rule: rows are only ever added; triggers refuse every change and removal.

A run without a row in `run_end` never ended: there is no state to forget to write. A change here needs a step
in `version.py`. Tables are strict: SQLite then refuses a value of another type than its column's (sqlite.org, STRICT
tables), as PostgreSQL does.
"""

from collections.abc import Iterable
from typing import Any, get_args

from sqlalchemy import (
    REAL,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Dialect,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    TypeDecorator,
)
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.types import TypeEngine

from pulldrop.model.bench.identity import Identity
from pulldrop.model.crate.crate import Bin, Happened
from pulldrop.model.part.event import PartEventKind
from pulldrop.model.scale import Grade, Mark
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.model.wording.harmless import one_line

APPLICATION = 0x70756C6C
"""Kept as SQLite's application_id ("pull"), so that no other program's database is taken for a store."""

metadata = MetaData()

WHOLE = Text().with_variant(Text(collation="C"), "postgresql")
"""Ordered by bytes in every database, whatever its language, so that the text order of times is their order."""


class _Line(TypeDecorator[str]):
    """A text within a line: a line feed that somebody put into one is read as a mark."""

    impl, cache_ok, python_type = Text, True, str

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:
        return one_line(value) if isinstance(value, str) and "\n" in value else value


TEXT = _Line().with_variant(_Line(collation="C"), "postgresql")
LONG = BigInteger().with_variant(Integer, "sqlite")
FLOAT = Float().with_variant(REAL, "sqlite")
KINDS = get_args(Identity.model_fields["kind"].annotation)
BY_KIND = "simulated = (board_kind <> 'real')"
Kind = TypeEngine[Any] | type[TypeEngine[Any]]


@compiles(Boolean, "sqlite")
def _strict_boolean(*_args: object, **_options: object) -> str:
    """SQLite's own types alone stand in a strict table."""
    return "INTEGER"


def yes_no(name: str) -> Column[bool]:
    """A column that says yes or no, and nothing else."""
    return Column(name, Boolean(create_constraint=True), nullable=False)


def word(name: str, among: Iterable[str], optional: bool = False) -> Column[str]:
    """A column that holds one of these words, and no other."""
    words = ", ".join(f"'{one}'" for one in among)
    return Column(name, TEXT, CheckConstraint(f"{name} IN ({words})"), nullable=optional)


def filled(kind: Kind, *names: str) -> list[Column[Any]]:
    """Columns that every row fills."""
    return [Column(name, kind, nullable=False) for name in names]


def optional(kind: Kind, *names: str) -> list[Column[Any]]:
    """Columns that a row may leave empty."""
    return [Column(name, kind) for name in names]


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
    yes_no("simulated"),
    *filled(TEXT, "kind", "own", "label", "donor", "notes"),
    sqlite_strict=True,
)

# Which part an id means, whatever other store gave out the same id: marks that no two parts share. A part has one from
# the beginning, and more when parts of two stores were found to be one.
birth = Table(
    "birth",
    metadata,
    Column("birth", TEXT, primary_key=True),
    Column("part", TEXT, nullable=False, index=True),
    sqlite_strict=True,
)

# Times are UTC in ISO 8601, so that text order is time order. JSON columns hold the nouns of the model.
# protocol_text, plan, board, calibration, specimen and siblings are texts that repeat: see texts.py.
run = Table(
    "run",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("part", Integer, ForeignKey("part.key"), nullable=False, index=True),
    yes_no("simulated"),
    *filled(TEXT, "started", "protocol"),
    *filled(Integer, "protocol_version"),
    *filled(TEXT, "protocol_sha256"),
    *filled(WHOLE, "protocol_text"),
    *filled(TEXT, "rating", "plan"),
    word("board_kind", KINDS),
    *filled(Integer, "board_serial"),
    *filled(TEXT, "firmware", "board", "calibration", "software", "operator"),
    *filled(WHOLE, "specimen"),
    *optional(Integer, "seed"),
    *optional(TEXT, "siblings"),
    CheckConstraint(BY_KIND, name="run_simulated_by_kind"),
    sqlite_strict=True,
)

measurement = Table(
    "measurement",
    metadata,
    _run_key(),
    Column("seq", Integer, primary_key=True),
    *filled(TEXT, "id"),
    yes_no("simulated"),
    word("outcome", Outcome),
    *filled(TEXT, "reason"),
    *optional(TEXT, "not_tested", "because"),
    *optional(FLOAT, "value"),
    *optional(TEXT, "unit", "state"),
    word("bound", ("=", "<", ">"), optional=True),
    *optional(FLOAT, "expanded_uncertainty"),
    *optional(TEXT, "limit_text"),
    *optional(FLOAT, "limit_low", "limit_high"),
    *optional(TEXT, "limit_state", "limit_unit", "limit_source", "limit_known", "conditions", "budget", "makes"),
    word("grade", Grade, optional=True),
    sqlite_strict=True,
)

# Captures and counts, zlib-compressed JSON, once a run however many readings rest on them.
raw = Table(
    "raw",
    metadata,
    _run_key(),
    Column("sha256", TEXT, primary_key=True),
    Column("body", LargeBinary, nullable=False),
    sqlite_strict=True,
)

measurement_raw = Table(
    "measurement_raw",
    metadata,
    Column("run", TEXT, primary_key=True),
    Column("seq", Integer, primary_key=True),
    Column("position", Integer, primary_key=True),
    *filled(TEXT, "sha256"),
    ForeignKeyConstraint(["run", "seq"], ["measurement.run", "measurement.seq"]),
    ForeignKeyConstraint(["run", "sha256"], ["raw.run", "raw.sha256"]),
    sqlite_strict=True,
)

run_end = Table(
    "run_end",
    metadata,
    _run_key(),
    *filled(TEXT, "ended"),
    *filled(FLOAT, "bench_s"),
    *filled(Integer, "measurements"),
    word("overall", Overall),
    *filled(TEXT, "found", "means", "next"),
    word("mark", Mark, optional=True),
    *optional(TEXT, "unlike"),
    sqlite_strict=True,
)

# What the diagnosis named, the most probable first; `body` is the whole of it.
fault = Table(
    "fault",
    metadata,
    _run_key(),
    Column("seq", Integer, primary_key=True),
    *filled(TEXT, "id"),
    *filled(FLOAT, "weight"),
    *filled(TEXT, "body"),
    sqlite_strict=True,
)

# The newest of a board's own kind and serial number counts. `record` is the whole of it.
calibration = Table(
    "calibration",
    metadata,
    _number(),
    *filled(TEXT, "taken_at"),
    yes_no("simulated"),
    word("board_kind", KINDS),
    *filled(Integer, "board_serial"),
    *filled(TEXT, "record"),
    CheckConstraint(BY_KIND, name="calibration_simulated_by_kind"),
    sqlite_strict=True,
)

# Parts by which a bench is checked; the last row of a part counts.
golden = Table(
    "golden",
    metadata,
    _number(),
    Column("part", TEXT, nullable=False, index=True),
    Column("run", TEXT, ForeignKey("run.id"), nullable=False),
    *filled(TEXT, "marked"),
    sqlite_strict=True,
)

crate = Table(
    "crate",
    metadata,
    Column("name", TEXT, primary_key=True),
    yes_no("simulated"),
    *filled(TEXT, "begun"),
    sqlite_strict=True,
)

# What happened to a crate, in order; its tally follows from nothing else. `body` is the whole of an event.
crate_event = Table(
    "crate_event",
    metadata,
    Column("crate", TEXT, ForeignKey("crate.name"), primary_key=True),
    Column("seq", Integer, primary_key=True),
    *filled(TEXT, "at"),
    word("kind", Happened),
    *filled(Integer, "number"),
    Column("run", TEXT, ForeignKey("run.id")),
    word("bin", Bin, optional=True),
    *filled(TEXT, "body"),
    sqlite_strict=True,
)

# What happened to parts besides tests: cards, fitted, removed, cleaned, moved, notes, photos. `at` is when it happened,
# `written` when it was kept. `body` is the whole of an event.
part_event = Table(
    "part_event",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("part", TEXT, nullable=False, index=True),
    yes_no("simulated"),
    *filled(TEXT, "at", "written"),
    word("kind", PartEventKind),
    *filled(TEXT, "body"),
    sqlite_strict=True,
)

# A text that many runs share, such as a plan, kept once. A column that holds "@" and a digest means the text here.
document = Table(
    "document",
    metadata,
    Column("sha256", TEXT, primary_key=True),
    *filled(WHOLE, "body"),
    sqlite_strict=True,
)

# A later judgement of the readings of a run; the run and its own verdict stay as they are.
rejudged = Table(
    "rejudged",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("run", TEXT, ForeignKey("run.id"), nullable=False, index=True),
    *filled(TEXT, "at", "plan", "decisions", "faults"),
    word("overall", Overall),
    *filled(TEXT, "found", "means", "next"),
    word("mark", Mark, optional=True),
    *optional(TEXT, "unlike"),
    *filled(TEXT, "software", "operator"),
    *optional(TEXT, "siblings"),
    sqlite_strict=True,
)

# What was not made here: the record of the table `kind` and the key `of` came from `source`; the last row counts.
# `head`: the chain of the source was held to this head, noted by a person; empty when nothing vouches for it. `rules`:
# other rules that judged it, and nobody judged it again.
arrival = Table(
    "arrival",
    metadata,
    _number(),
    *filled(TEXT, "kind"),
    Column("of", TEXT, nullable=False, index=True),
    *filled(TEXT, "at", "source", "head", "rules"),
    sqlite_strict=True,
)

# The chain: one row for each transaction. `rows` names what it wrote, `hash` covers that and the hash before.
link = Table(
    "link",
    metadata,
    Column("seq", LONG, primary_key=True, autoincrement=False),
    *filled(TEXT, "at"),
    *optional(TEXT, "run"),
    *filled(TEXT, "rows", "hash"),
    sqlite_strict=True,
)

RECORDS = (
    part, birth, document, run, raw, measurement, measurement_raw, fault, run_end,
    calibration, golden, crate, crate_event, part_event, rejudged, arrival, link,
)  # fmt: skip
"""Every table of records, in the order in which rows that belong together are written."""
