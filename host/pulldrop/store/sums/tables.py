"""Tables of working sums: the newest state of each part, its figures summed up, the words to find it by.

Rule: they are no records. They follow from the records, are changed in the same transaction, and can be made again;
nothing that a person must be able to believe in ten years is only here.
"""

from sqlalchemy import Column, Connection, Index, Integer, MetaData, Table, event

from pulldrop.store.database.tables import FLOAT, TEXT, filled, optional, yes_no

metadata = MetaData()

# One row a part: its last description and its last run. `overall` is empty while that run has no end.
part_now = Table(
    "part_now",
    metadata,
    Column("id", TEXT, primary_key=True),
    *filled(Integer, "key"),
    yes_no("simulated"),
    *filled(TEXT, "kind", "own", "label", "donor", "notes"),
    *filled(Integer, "runs"),
    *filled(TEXT, "run", "started", "protocol"),
    *filled(Integer, "protocol_version"),
    *filled(TEXT, "rating", "board_kind", "operator"),
    *optional(TEXT, "ended", "overall", "mark"),
    sqlite_strict=True,
)
Index("part_now_newest", part_now.c.started.desc(), part_now.c.id)

# One row a part and figure of wear, over its whole runs; `rating` is that of the last. Times are years since 2020.
# t: time, x: value.
# `per_year` is the slope of the straight line through the readings, `limit_at` where that meets the limit.
part_figure = Table(
    "part_figure",
    metadata,
    Column("part", TEXT, primary_key=True),
    Column("id", TEXT, primary_key=True),
    yes_no("simulated"),
    *filled(TEXT, "rating", "unit"),
    *filled(Integer, "readings"),
    *filled(FLOAT, "first_at", "first", "last_at", "last", "last_u"),
    *optional(FLOAT, "low", "high"),
    *filled(FLOAT, "sum_t", "sum_x", "sum_tt", "sum_tx"),
    *optional(FLOAT, "per_year", "limit_at"),
    Index("part_figure_siblings", "simulated", "rating", "id", "last", "per_year"),
    sqlite_strict=True,
)

_own = part_figure.c
# Few parts wear towards a limit, so this holds all that is asked of those, beside the table.
_lines = Index(
    "part_figure_lines", _own.simulated, _own.limit_at, _own.part, _own.id, _own.readings, _own.per_year, _own.first_at,
    _own.first, _own.last_at, _own.last_u, _own.low, _own.high,
    sqlite_where=_own.limit_at.is_not(None),
)  # fmt: skip


@event.listens_for(metadata, "before_create")
def _lines_on_a_server(_metadata: MetaData, connection: Connection, **_options: object) -> None:
    """The same on PostgreSQL; named above, it would load that dialect at every start."""
    if connection.dialect.name == "postgresql":
        _lines.dialect_options["postgresql"]["where"] = _own.limit_at.is_not(None)


# Words of a part's descriptions, old ones too, in small letters.
part_word = Table(
    "part_word",
    metadata,
    Column("word", TEXT, primary_key=True),
    Column("part", TEXT, primary_key=True),
    Index("part_word_part", "part"),
    sqlite_with_rowid=False,
    sqlite_strict=True,
)

# Ids of parts that were found to be another part, and the id that this one goes by (see joined.py).
part_alias = Table(
    "part_alias",
    metadata,
    Column("id", TEXT, primary_key=True),
    Column("part", TEXT, nullable=False, index=True),
    sqlite_strict=True,
)

SUMS = (part_now, part_figure, part_word, part_alias)
