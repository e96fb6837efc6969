"""Taking in runs from elsewhere: a rescue file, another bench's store. Rule: what is here already is never doubled,
never changed, and never silently replaced by something else; taking the same in twice does nothing.
"""

import gc
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice

from sqlalchemy import Connection, Engine, select

from pulldrop.model.run.record import RunRecord
from pulldrop.store.database import chain, tables
from pulldrop.store.database.place import writing
from pulldrop.store.database.stamps import stamp
from pulldrop.store.errors import PartRefused, damaged
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.changes import measured_here
from pulldrop.store.exchange.origins import Checked, ImportResult, Origins
from pulldrop.store.records import bounds, read, rows
from pulldrop.store.records.arrived import Arriving
from pulldrop.store.records.parts import PartsInTransaction
from pulldrop.store.records.texts import Texts
from pulldrop.store.sums import summary

RUNS_AT_ONCE = 500
"""In one transaction: many writes for one wait for the disk, and yet others get their turn within a second."""


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
                batch.add(record, checked.rules)
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

    def add(self, record: RunRecord, rules: str = "") -> None:
        """Add a run that is not here, by which other rules judged. Raises PartRefused before anything is written."""
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
        self.add_rest(bundle, record, 0, set(), rules)

    def note(self, bundle: chain.Bundle, record: RunRecord, rules: str) -> None:
        """That all or some of a run came from outside."""
        self._arriving.note(bundle, tables.run, record.run, rules, self.origins.vouched(tables.run, record.run))

    def vouch(self, record: RunRecord, rules: str) -> None:
        """Note the head that vouches for a run which came before without one."""
        bundle = chain.Bundle(record.run)
        self.note(bundle, record, rules)
        self._bundles.append(bundle)

    def add_rest(
        self, bundle: chain.Bundle, record: RunRecord, written: int, known_raw: set[str], rules: str = ""
    ) -> None:
        """Its measurements from the `written`th on, and its end if it has one."""
        self.note(bundle, record, rules)
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
        batch.vouch(record, kept.arrived.rules)
    if same and record.ended is None and len(record.judged) <= len(kept.judged):
        taken.known += 1
    elif same and kept.ended is None and len(record.judged) >= len(kept.judged):
        checked = _checked(record, batch.origins)
        if checked.refused:
            taken.refused.append(f"Run {record.run} was not completed. {checked.refused}")
            return
        raw = select(tables.raw.c.sha256).where(tables.raw.c.run == record.run)
        known_raw = set(batch.connection.execute(raw).scalars())
        batch.add_rest(chain.Bundle(record.run), record, len(kept.judged), known_raw, checked.rules)
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
