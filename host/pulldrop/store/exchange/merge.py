"""Taking in runs from elsewhere: a rescue file, another bench's store. Rule: what is here already is never doubled,
never changed, and never silently replaced by something else; taking the same in twice does nothing.
"""

import gc
import re
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import islice

from sqlalchemy import Connection, Engine, Table, select

from pulldrop.model.part.event import PartEventKind
from pulldrop.model.part.part import Part
from pulldrop.model.run.judgement import Judgement
from pulldrop.model.run.record import RunRecord
from pulldrop.store.database import chain, tables
from pulldrop.store.database.place import writing
from pulldrop.store.database.stamps import stamp
from pulldrop.store.errors import PartRefused, damaged
from pulldrop.store.exchange import changes
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.changes import measured_here
from pulldrop.store.exchange.doubts import NOTHING, Doubts
from pulldrop.store.records import bounds, judgements, read, rows
from pulldrop.store.records.arrived import Arriving
from pulldrop.store.records.parts import PartsInTransaction, births_of, part_of
from pulldrop.store.records.texts import MARK, Texts
from pulldrop.store.sums import summary

RUNS_AT_ONCE = 500
"""In one transaction: many writes for one wait for the disk, and yet others get their turn within a second."""


@dataclass(slots=True)
class ImportResult:
    """Counts of new, completed and already known runs, and of other new rows.

    `refused`: the reason for each refusal, a sentence each; `renamed`: parts that have another id here, so that a label
    is to be rewritten.
    """

    new: int = 0
    completed: int = 0
    known: int = 0
    other: int = 0
    refused: list[str] = field(default_factory=list)
    renamed: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Checked:
    """What a record came to when it was judged again: why it is refused, or what is to be known of it."""

    refused: str = ""
    note: str = ""


Check = Callable[[RunRecord], Checked]
CheckJudgement = Callable[[RunRecord, Judgement], Checked]


@dataclass(frozen=True, slots=True)
class Origins:
    """Where records come from: the source in words, the noted head that it was held to, and what does not hold there.

    `check` is asked of every run that is new here, `check_judgement` of every later judgement of a run, with that run.
    """

    source: str
    check: Check
    check_judgement: CheckJudgement = lambda record, judgement: Checked()
    head: str = ""
    doubts: Doubts = NOTHING

    def vouched(self, table: Table, of: str) -> bool:
        """Whether the noted head covers all of a record."""
        return bool(self.head) and (table.name, of) not in self.doubts.unvouched


def import_runs(
    engine: Engine,
    store: str,
    records: Iterable[RunRecord],
    arrivals: Arrivals,
    taken: ImportResult,
    origins: Origins,
) -> None:
    """Keep whole records, some in each transaction; every one of a transaction is kept, or none."""
    rest = iter(records)
    while batch := list(islice(rest, RUNS_AT_ONCE)):
        _take(engine, store, batch, arrivals, taken, origins)


@contextmanager
def _gc_paused() -> Iterator[None]:
    """Without Python's search for cycles: rows make none, and it would walk through all records again and again."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()


def _take(
    engine: Engine,
    store: str,
    records: Sequence[RunRecord],
    arrivals: Arrivals,
    taken: ImportResult,
    origins: Origins,
) -> None:
    with _gc_paused(), writing(engine).begin() as connection:
        here = select(tables.run.c.id).where(tables.run.c.id.in_([record.run for record in records]))
        kept = set(connection.execute(here).scalars())
        batch, before = _Batch(connection, records, arrivals, origins), set[str]()
        for record in records:
            if record.run in before:
                taken.refused.append(f"Run {record.run[:40]} stands there twice; the first was looked at.")
                continue
            before.add(record.run)
            if record.run in kept:
                try:
                    _compare(batch, store, record, taken)
                except (ValueError, KeyError, zlib.error) as error:
                    raise damaged(store, f"run {record.run}", error) from error
                continue
            checked = _checked(record, origins)
            try:
                if checked.refused:
                    raise PartRefused(checked.refused)
                batch.add(record, checked.note)
            except PartRefused as refusal:
                taken.refused.append(f"Run {record.run[:40]} was not taken in. {refusal}")
                continue
            taken.new += 1
        batch.write()


def _checked(record: RunRecord, origins: Origins) -> Checked:
    unkept = bounds.refusal(record)
    return Checked(unkept) if unkept else origins.check(record)


class _Batch:
    """Runs that are written together."""

    def __init__(
        self, connection: Connection, records: Sequence[RunRecord], arrivals: Arrivals, origins: Origins
    ) -> None:
        self.connection, self.origins = connection, origins
        self._arriving = Arriving(connection, origins.source, origins.head)
        self._texts, self._parts, self._arrivals = Texts(connection), PartsInTransaction(connection), arrivals
        self._parts.look_up(record.part.id for record in records)
        self._parts.born([birth for record in records for birth in record.part.births])
        self._sums = summary.load(connection, [arrivals.find(self._parts, record.part) for record in records])
        self._bundles: list[chain.Bundle] = []

    def add(self, record: RunRecord, note: str = "") -> None:
        """Add a run that is not here, with what is to be known of it. Raises PartRefused before anything is written."""
        bundle, here = chain.Bundle(record.run), self._arrivals.find(self._parts, record.part)
        part = record.part if here == record.part.id else record.part.model_copy(update={"id": here})
        vouched = self.origins.vouched(tables.run, record.run)
        if not vouched and measured_here(self.connection, here):
            part = self._parts.as_described(part, record.simulated)
        about = self._parts.row(part, record.simulated, bundle)
        self._arrivals.note(self._parts, record.part, record.simulated, bundle, vouched)
        run = rows.run_row(record.run, about["key"], record, self._texts, bundle)
        bundle.add(tables.run, run)
        self._sums.begin(run, about)
        self.add_rest(bundle, record, 0, set(), note)

    def note(self, bundle: chain.Bundle, record: RunRecord, also: str = "") -> None:
        """That all or some of a run came from outside."""
        self._arriving.note(bundle, tables.run, record.run, also, self.origins.vouched(tables.run, record.run))

    def vouch(self, record: RunRecord) -> None:
        """Note the head that vouches for a run which came before without one."""
        bundle = chain.Bundle(record.run)
        self.note(bundle, record)
        self._bundles.append(bundle)

    def add_rest(
        self, bundle: chain.Bundle, record: RunRecord, written: int, known_raw: set[str], note: str = ""
    ) -> None:
        """Its measurements from the `written`th on, and its end if it has one."""
        self.note(bundle, record, note)
        for seq, judged in enumerate(record.judged[written:], written):
            rows.add_judged(bundle, record.run, seq, record.simulated, judged, known_raw)
        if record.ended is not None:
            rows.add_end(bundle, record)
            readings = [row for table, row in bundle.rows if table is tables.measurement]
            if written:
                readings = list(rows.measurement_rows(record.run, record))
            run = dict(started=stamp(record.started), rating=record.plan.rating.rating)
            self._sums.end(self._arrivals.find(self._parts, record.part), run, rows.end_row(record), readings)
        self._bundles.append(bundle)

    def write(self) -> None:
        if self._bundles:
            chain.append(self.connection, self._bundles)
            self._sums.put(self.connection)


def _compare(batch: _Batch, store: str, record: RunRecord, taken: ImportResult) -> None:
    """Compare with the run of this id here: known, completed, or refused."""
    kept = read.record(batch.connection, store, record.run)
    shorter = min(len(kept.judged), len(record.judged))
    same = _head(kept) == _head(record) and kept.judged[:shorter] == record.judged[:shorter]
    whole = same and _end(kept) == _end(record) and len(kept.judged) == len(record.judged)
    vouched = batch.origins.vouched(tables.run, record.run)
    if whole and vouched and kept.arrived is not None and not kept.arrived.head:
        batch.vouch(record)
    if same and record.ended is None and len(record.judged) <= len(kept.judged):
        taken.known += 1
    elif same and kept.ended is None and len(record.judged) >= len(kept.judged):
        checked = _checked(record, batch.origins)
        if checked.refused:
            taken.refused.append(f"Run {record.run} was not completed. {checked.refused}")
            return
        raw = select(tables.raw.c.sha256).where(tables.raw.c.run == record.run)
        known_raw = set(batch.connection.execute(raw).scalars())
        batch.add_rest(chain.Bundle(record.run), record, len(kept.judged), known_raw, checked.note)
        taken.completed += 1
    elif whole:
        taken.known += 1
    else:
        taken.refused.append(
            f"Run {record.run} is here already and not the same; it stays as it is, and the other was not taken in."
        )


def _head(record: RunRecord) -> tuple[object, ...]:
    """What a run's beginning fixes; not the part, which may be described better and have another id elsewhere."""
    fields = ("started", "plan", "board", "calibration", "software", "operator", "specimen", "seed", "siblings")
    return (*(getattr(record, name) for name in fields), record.simulated)


def _end(record: RunRecord) -> tuple[object, ...]:
    return (record.ended, record.verdict, record.bench_s, record.faults)


def parts_there(theirs: Connection) -> dict[str, Part]:
    """The parts of another store by their ids there, each as it was described first. ValueError: one is none."""
    births, found = births_of(theirs), dict[str, Part]()
    for row in theirs.execute(select(tables.part).order_by("key")).mappings():
        found.setdefault(row["id"], part_of(row, births))
    return found


def import_other_rows(
    ours: Connection, theirs: Connection, arrivals: Arrivals, taken: ImportResult, origins: Origins
) -> None:
    """What a store holds besides runs: parts never tested, calibrations, golden parts, crates, events, judgements."""
    bundle = chain.Bundle()
    sums, here = _take_parts(ours, theirs, arrivals, bundle, taken, origins)
    into = _Others(ours, theirs, here, bundle, taken, origins, arrivals.before)
    for table in (tables.calibration, tables.golden):
        _take_counted(theirs, table, into)
    for table in (tables.crate, tables.crate_event, tables.part_event, tables.rejudged):
        _take_named(theirs, table, into)
    taken.other += sum(table is not tables.arrival for table, _ in bundle.rows)
    _take_documents(ours, theirs, bundle)
    if bundle.rows:
        chain.append(ours, [bundle])
        sums.put(ours)
        summary.join(ours)


def _take_parts(
    ours: Connection,
    theirs: Connection,
    arrivals: Arrivals,
    bundle: chain.Bundle,
    taken: ImportResult,
    origins: Origins,
) -> tuple[summary.Sums, dict[str, str]]:
    """The sums of parts that are new, and by its id there the id here of every part."""
    known = set(ours.execute(select(tables.part.c.id)).scalars())
    parts, births, there = PartsInTransaction(ours), births_of(theirs), parts_there(theirs)
    parts.look_up(there)
    parts.born([birth for one in there.values() for birth in one.births])
    here = {id: arrivals.find(parts, one) for id, one in there.items()}
    sums = summary.load(ours, [id for id in here.values() if id not in known])
    for row in theirs.execute(select(tables.part).order_by("key")).mappings():
        one = part_of(row, births).model_copy(update={"id": here[row["id"]]})
        doubt = origins.doubts.about("part", row)
        try:
            if one.id not in known:
                if doubt:
                    raise PartRefused(doubt)
                sums.describe(parts.row(one, row["simulated"], bundle))
        except PartRefused as refusal:
            taken.refused.append(f"Part {row['id']} was not taken in. {refusal}")
            continue
        vouched = origins.vouched(tables.part, _key(tables.part, row))
        arrivals.note(parts, there[row["id"]], row["simulated"], bundle, vouched)
    return sums, here


class _Others:
    """Where rows besides runs go: `here` are the ids that parts there have here, `before` those that were here."""

    def __init__(
        self,
        ours: Connection,
        theirs: Connection,
        here: Mapping[str, str],
        bundle: chain.Bundle,
        taken: ImportResult,
        origins: Origins,
        before: frozenset[str],
    ) -> None:
        self.ours, self.here, self._bundle, self.taken, self._origins = ours, here, bundle, taken, origins
        self._theirs, self._before = theirs, before
        self._arriving = Arriving(ours, origins.source, origins.head)
        self._crates: set[str] = set()

    def add(self, table: Table, row: chain.Values, there: chain.Values) -> bool:
        """Add a row, with a note that it came from outside, unless it does not hold or its run is not here."""
        named = [there["part"]] if "part" in there else []
        named += [id for _, id in ID_IN_BODY.findall(there.get("body", ""))]
        unknown = [f"No part there is called '{id[:40]}'." for id in named if id and id not in self.here]
        doubt = self._origins.doubts.about(table.name, there) or "".join(unknown[:1])
        doubt = doubt or bounds.row_refusal(self._theirs, table, row)
        if not doubt and table is tables.part_event and not self._origins.vouched(table, _key(table, there)):
            doubt = changes.refusal(self.ours, row, self._before)
        if doubt:
            self.taken.refused.append(f"A row of {table.name} was not taken in. {doubt}")
            return False
        if not _run_is_here(self.ours, table, row, self.taken):
            return False
        checked = self._judged(row) if table is tables.rejudged else Checked()
        if checked.refused:
            self.taken.refused.append(f"The judgement {row['id']} was not taken in. {checked.refused}")
            return False
        self._bundle.add(table, row)
        if table in (tables.crate, tables.crate_event):
            crate = row["name" if table is tables.crate else "crate"]
            if crate not in self._crates:
                self._note(tables.crate, crate, crate)
            self._crates.add(crate)
        else:
            self._note(table, _key(table, row), _key(table, there), checked.note)
        return True

    def _judged(self, row: chain.Values) -> Checked:
        record = read.record(self.ours, "", row["run"])
        return self._origins.check_judgement(record, judgements.one(self._theirs, row["id"]))

    def _note(self, table: Table, here: str, there: str, also: str = "") -> None:
        self._arriving.note(self._bundle, table, here, also, self._origins.vouched(table, there))


def _key(table: Table, row: chain.Values) -> str:
    """Of a record, as `arrival` has it."""
    return " ".join(str(row[name]) for name in chain.key_of(table))


ID_IN_BODY = re.compile(r'"(part|into)":"([^"]*)"')
"""Where a text in JSON names a part."""


def _as_here(table: Table, row: chain.Values, here: Mapping[str, str]) -> chain.Values:
    """A row with the ids that its parts have here, in its text too, where no quoted text can look like that."""
    now: dict[str, object] = {}
    if "part" in row:
        now["part"] = here.get(row["part"], row["part"])
    if "body" in row:
        now["body"] = ID_IN_BODY.sub(lambda found: f'"{found[1]}":"{here.get(found[2], found[2])}"', row["body"])
    return {**row, **now}


def _take_counted(theirs: Connection, table: Table, into: _Others) -> None:
    """Rows whose key is only a count: the same content is the same row."""
    kept = {_content(row) for row in into.ours.execute(select(table)).mappings()}
    key = chain.next_key(into.ours, table)
    for other in theirs.execute(select(table).order_by("key")).mappings():
        row = _as_here(table, other, into.here)
        if _content(row) not in kept:
            key += into.add(table, {**row, "key": key}, other)


def _content(row: chain.Values) -> tuple[object, ...]:
    return tuple(value for name, value in row.items() if name != "key")


def _take_named(theirs: Connection, table: Table, into: _Others) -> None:
    """Rows with a name of their own: what has this name here must be the same."""
    names = chain.key_of(table)
    known = {tuple(row[n] for n in names): row for row in into.ours.execute(select(table)).mappings()}
    for other in theirs.execute(select(table).order_by(*names)).mappings():
        row = _as_here(table, other, into.here)
        kept = known.get(tuple(row[n] for n in names))
        if kept is not None and dict(kept) != dict(row):
            told = " ".join(str(row[n]) for n in names)
            into.taken.refused.append(f"{table.name} {told} is here already and not the same; it stays as it is.")
        elif kept is None and not _says_nothing(table, row):
            into.add(table, row, other)


def _says_nothing(table: Table, row: chain.Values) -> bool:
    """Whether an event names another id of a part that is its id here."""
    named = table is tables.part_event and row["kind"] == PartEventKind.NAMED
    return bool(named) and f'"name":"{row["part"]}"' in row["body"]


def _run_is_here(ours: Connection, table: Table, row: chain.Values, taken: ImportResult) -> bool:
    """Whether the run that a row points to was taken in; a row may point to none."""
    run = row.get("run")
    if run is None or ours.execute(select(tables.run.c.id).where(tables.run.c.id == run)).first():
        return True
    taken.refused.append(f"A row of {table.name} was not taken in, because its run {run} was not.")
    return False


def _take_documents(ours: Connection, theirs: Connection, bundle: chain.Bundle) -> None:
    """The texts that the rows point to."""
    wanted = {row["plan"][1:] for table, row in bundle.rows if table is tables.rejudged and row["plan"][:1] == MARK}
    own = tables.document.c
    wanted -= set(ours.execute(select(own.sha256).where(own.sha256.in_(wanted))).scalars())
    for row in theirs.execute(select(tables.document).where(own.sha256.in_(wanted))).mappings():
        bundle.add(tables.document, row)
