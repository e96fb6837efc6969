"""Keeping the working sums in step with the records. Rule: the sums are a function of the records (`computed`).

The straight line through a part's readings ranks parts in the view of the fleet; whether a part really changes is
for whoever looks at its history to judge.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, delete, func, select

from pulldrop.model.measurement import WEAR
from pulldrop.store.database import chain, tables
from pulldrop.store.database.chain import Values
from pulldrop.store.sums import joined
from pulldrop.store.sums.tables import SUMS, metadata, part_alias, part_figure, part_now, part_word

WHOLE = frozenset({"pass", "fail", "unsure", "incomplete", "checked without load"})
"""Endings of a run whose readings count."""
LEAST_READINGS, LEAST_YEARS = 3, 1 / 12
"""Below these a slope says nothing."""
FORESIGHT_YEARS = 20.0
"""A limit that a straight line meets later is not foreseen at all."""
EPOCH_S, YEAR_S = 1_577_836_800.0, 31_557_600.0
"""2020-01-01 UTC, and a year of 365.25 days."""
PARTS_AT_ONCE = 500
DESCRIPTION = ("key", "simulated", "kind", "own", "label", "donor", "notes")
NEVER_TESTED = dict(
    key=0, runs=0, run="", started="", protocol="", protocol_version=0, rating="", board_kind="", operator="",
    ended=None, overall=None, mark=None,
)  # fmt: skip
OF_END = ("ended", "overall", "mark")
OF_RUN = ("started", "protocol", "protocol_version", "rating", "board_kind", "operator")


class Sums:
    """The sums of some parts, to be brought up to date and put back. `aliases`: see `joined.py`."""

    def __init__(self, aliases: Mapping[str, str]) -> None:
        self._aliases = aliases
        self.now: dict[str, dict[str, Any]] = {}
        self.figures: dict[tuple[str, str], dict[str, Any]] = {}
        self.words: set[tuple[str, str]] = set()
        self._described: set[int] = set()
        self._read_last: dict[tuple[str, str], str] = {}
        self._late: set[str] = set()

    def begin(self, run: Values, part: Values) -> None:
        """Count a run that began. `run` and `part` are rows of these tables."""
        state = self.now[self._whose(part["id"])] if part["key"] in self._described else self.describe(part)
        state["runs"] += 1
        if (run["started"], run["id"]) > (state["started"], state["run"]):
            state |= {"run": run["id"], **dict.fromkeys(OF_END), **{name: run[name] for name in OF_RUN}}

    def describe(self, part: Values) -> dict[str, Any]:
        """Note what a part is called, and give its state. The newest of its rows under the id it goes by counts."""
        id = self._whose(part["id"])
        state = self.now.setdefault(id, {"id": id, **NEVER_TESTED})
        if id == part["id"] and part["key"] >= state["key"]:
            state |= {name: part[name] for name in DESCRIPTION}
        self.words |= {(word, id) for word in words(part["id"], part["label"], part["donor"], part["notes"])}
        self._described.add(part["key"])
        return state

    def end(self, part: str, run: Values, end: Values, measurements: Iterable[Values]) -> None:
        """Note how a run ended, and add its readings. Of the row `run`, `started` and `rating` are asked."""
        part = self._whose(part)
        state = self.now[part]
        if state["run"] == end["run"]:
            state |= {name: end[name] for name in OF_END}
        if end["overall"] in WHOLE:
            at = years(run["started"])
            for row in measurements:
                if row["id"] in WEAR and row.get("value") is not None and row.get("bound") == "=":
                    self._read(part, end["run"], run["rating"], at, row)

    def _read(self, part: str, run: str, rating: str, at: float, row: Values) -> None:
        value, key = row["value"], (part, row["id"])
        figure = self.figures.get(key)
        if figure is not None and at <= figure["last_at"] and self._read_last.get(key) != run:
            self._late.add(part)
        self._read_last[key] = run
        if figure is None:
            figure = self.figures[key] = {"part": part, "id": row["id"], "unit": row["unit"], "readings": 0}
            figure["simulated"] = self.now[part]["simulated"]
            figure |= dict(first_at=at, first=value, last_at=at, sum_t=0.0, sum_x=0.0, sum_tt=0.0, sum_tx=0.0)
        if at <= figure["first_at"]:
            figure |= dict(first_at=at, first=value)
        if at >= figure["last_at"]:
            limits = dict(low=row.get("limit_low"), high=row.get("limit_high"))
            figure |= dict(last_at=at, last=value, last_u=row["expanded_uncertainty"], rating=rating, **limits)
        figure["readings"] += 1
        for name, term in (("sum_t", at), ("sum_x", value), ("sum_tt", at * at), ("sum_tx", at * value)):
            figure[name] += term

    def _whose(self, id: str) -> str:
        return self._aliases.get(id, id)

    def foresee(self) -> None:
        """Draw the straight lines, when all readings are in."""
        for figure in self.figures.values():
            figure["per_year"] = per_year = _slope(figure)
            figure["limit_at"] = _meets_limit(figure, per_year)

    def put(self, connection: Connection) -> None:
        """Write them into the tables, over what is there; the records that they follow from are written already.

        The last digit of a sum depends on the order of its terms: one that a run came late to is added up anew.
        """
        if self._late:
            self.figures |= computed(connection, sorted(self._late)).figures
        self.foresee()
        _put(connection, part_now, list(self.now.values()))
        _put(connection, part_figure, list(self.figures.values()))
        _put(connection, part_word, [dict(word=word, part=part) for word, part in sorted(self.words)])


def years(stamp: str) -> float:
    """A time of the store in years since 2020."""
    return (datetime.fromisoformat(stamp).timestamp() - EPOCH_S) / YEAR_S


def words(*texts: str) -> set[str]:
    """The words of a description in small letters."""
    return {word for text in texts for word in re.findall(r"\w+", text.casefold())}


def load(connection: Connection, ids: Iterable[str]) -> Sums:
    """The sums of parts as they stand; of parts that are new there are none yet."""
    aliases = joined.aliases(connection)
    sums, wanted = Sums(aliases), sorted({aliases.get(id, id) for id in ids})
    for row in connection.execute(select(part_now).where(part_now.c.id.in_(wanted))).mappings():
        sums.now[row["id"]] = dict(row)
    for row in connection.execute(select(part_figure).where(part_figure.c.part.in_(wanted))).mappings():
        sums.figures[row["part"], row["id"]] = dict(row)
    return sums


def computed(connection: Connection, ids: Sequence[str]) -> Sums:
    """The sums of parts as the records give them; of one that was joined to another there are none."""
    aliases = joined.aliases(connection)
    own = {id for id in ids if id not in aliases}
    sums = Sums(aliases)
    part, run, end, one = tables.part, tables.run, tables.run_end, tables.measurement
    chosen = part.c.id.in_(own | {id for id, into in aliases.items() if into in own})
    about = {row["key"]: row for row in connection.execute(select(part).where(chosen)).mappings()}
    columns = (run.c.id, run.c.part, *(run.c[name] for name in OF_RUN))
    query = select(*columns).join(part, run.c.part == part.c.key).where(chosen).order_by(run.c.started, run.c.id)
    runs = connection.execute(query).mappings().all()
    for row in about.values():
        sums.describe(row)
    for row in runs:
        sums.begin(row, about[row["part"]])
    mine = select(run.c.id).join(part, run.c.part == part.c.key).where(chosen)
    ends = {r["run"]: r for r in connection.execute(select(end).where(end.c.run.in_(mine))).mappings()}
    read: dict[str, list[Values]] = {}
    readings = select(
        one.c.run, one.c.id, one.c.unit, one.c.value, one.c.bound, one.c.expanded_uncertainty,
        one.c.limit_low, one.c.limit_high,
    ).where(one.c.run.in_(mine), one.c.id.in_(WEAR)).order_by(one.c.run, one.c.seq)  # fmt: skip
    for row in connection.execute(readings).mappings():
        read.setdefault(row["run"], []).append(row)
    for row in runs:
        if row["id"] in ends:
            sums.end(about[row["part"]]["id"], row, ends[row["id"]], read.get(row["id"], ()))
    sums.foresee()
    return sums


def remake(connection: Connection) -> None:
    """Make the sums again from the records."""
    metadata.drop_all(connection)
    metadata.create_all(connection)
    _put_aliases(connection, joined.by_records(connection))
    for ids in _all_parts(connection):
        computed(connection, ids).put(connection)


def join(connection: Connection) -> None:
    """Follow the events that say which parts are one."""
    before, now = joined.aliases(connection), joined.by_records(connection)
    changed = {id for id in before.keys() | now.keys() if before.get(id) != now.get(id)}
    touched = changed | {into[id] for into in (before, now) for id in changed & into.keys()}
    for column in (part_now.c.id, part_figure.c.part, part_word.c.part):
        connection.execute(delete(column.table).where(column.in_(touched)))
    connection.execute(delete(part_alias))
    _put_aliases(connection, now)
    computed(connection, sorted(touched)).put(connection)


def _put_aliases(connection: Connection, aliases: Mapping[str, str]) -> None:
    _put(connection, part_alias, [dict(id=id, part=part) for id, part in sorted(aliases.items())])


def differences(connection: Connection) -> Iterator[str]:
    """Ids of parts whose sums are not what the records give; "?" for rows of no part at all."""
    count = dict.fromkeys(SUMS, 0)
    aliases = said = joined.by_records(connection)
    count[part_alias] = len(said)
    kept = {str(row["id"]): row["part"] for row in chain.raw_rows(connection, part_alias.name)}
    wrong = {id for id in said if kept.get(id) != said[id]}
    if kept != said:  # the other sums rest on who is who
        yield from sorted(wrong) or ["?"]
        return
    for some in _all_parts(connection):
        ids = [id for id in some if id not in aliases]
        right = computed(connection, ids)
        words = [dict(word=word, part=part) for word, part in right.words]
        for table, of, rows in (
            (part_now, "id", list(right.now.values())),
            (part_figure, "part", list(right.figures.values())),
            (part_word, "part", words),
        ):
            count[table] += len(rows)
            wrong |= {part for part, _ in _cells(table, of, rows) ^ _cells_there(connection, table, of, ids)}
    yield from sorted(wrong)
    if any(connection.execute(select(func.count()).select_from(t)).scalar_one() > n for t, n in count.items()):
        yield "?"


def _cells(table: Table, of: str, rows: Iterable[Values]) -> set[tuple[str, str]]:
    """Each row as part and cells, with the types that the database keeps."""
    empty = dict.fromkeys(table.columns.keys())
    kept = (chain.as_kept(table, {**empty, **row}) for row in rows)
    return {(row[of], chain.digest(row)) for row in kept}


def _cells_there(connection: Connection, table: Table, of: str, ids: Sequence[str]) -> set[tuple[str, str]]:
    marks = ", ".join("?" for _ in ids) or "NULL"
    rows = chain.raw_rows(connection, table.name, f'"{of}" IN ({marks})', ids)
    return {(str(row[of]), chain.digest(row)) for row in rows}


def _all_parts(connection: Connection) -> Iterator[list[str]]:
    """Ids of the parts, some at a time."""
    after = ""
    own = tables.part.c.id
    while True:
        query = select(own).where(own > after).distinct().order_by(own).limit(PARTS_AT_ONCE)
        ids = list(connection.execute(query).scalars())
        if not ids:
            return
        yield ids
        after = ids[-1]


def _slope(figure: Values) -> float | None:
    """Of the straight line by least squares, per year."""
    n = figure["readings"]
    if n < LEAST_READINGS or figure["last_at"] - figure["first_at"] < LEAST_YEARS:
        return None
    below = n * figure["sum_tt"] - figure["sum_t"] ** 2
    return float((n * figure["sum_tx"] - figure["sum_t"] * figure["sum_x"]) / below) if below > 0 else None


def _meets_limit(figure: Values, per_year: float | None) -> float | None:
    """When the line meets a limit, in years since 2020; the time of the last reading when that is beyond it."""
    last, low, high = figure["last"], figure["low"], figure["high"]
    if (high is not None and last > high) or (low is not None and last < low):
        return float(figure["last_at"])
    limit = (high if per_year > 0 else low) if per_year else None
    if limit is None or not per_year:
        return None
    ahead = (limit - last) / per_year
    return float(figure["last_at"] + ahead) if ahead <= FORESIGHT_YEARS else None


def _put(connection: Connection, table: Table, rows: Sequence[dict[str, Any]]) -> None:
    """Write rows over those of the same key."""
    if not rows:
        return
    columns = [column.name for column in table.columns]
    keys = [column.name for column in table.primary_key.columns]
    changed = ", ".join(f'"{name}" = excluded."{name}"' for name in columns if name not in keys)
    over = f"ON CONFLICT ({', '.join(keys)}) DO {f'UPDATE SET {changed}' if changed else 'NOTHING'}"
    chain.put(connection, table, columns, [tuple(row[name] for name in columns) for row in rows], over)
