"""Writing a run as it goes. Rule: when a method returns, what it was given is on the disk."""

import secrets
from datetime import UTC, datetime
from typing import Self

from sqlalchemy import Connection, Engine, func, select
from sqlalchemy.exc import IntegrityError

from pulldrop.model.part.part import Part
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Verdict
from pulldrop.store.database import chain, heads, tables
from pulldrop.store.database.place import StorePlace
from pulldrop.store.database.stamps import stamp
from pulldrop.store.database.uninterrupted import uninterrupted
from pulldrop.store.errors import AT, StoreTrouble
from pulldrop.store.records import crates, rows
from pulldrop.store.records.parts import PartsInTransaction
from pulldrop.store.records.read import cut_off
from pulldrop.store.records.rescue import rescued
from pulldrop.store.records.rows import RunHeader
from pulldrop.store.records.texts import Texts
from pulldrop.store.sums import summary


class OpenRun:
    """One run while it goes on. Leaving it without `finish` leaves it interrupted, by nothing being written."""

    def __init__(self, place: StorePlace, engine: Engine, header: RunHeader) -> None:
        self._place, self._engine = place, engine
        self._judged: list[Judged] = []
        self._written = 0
        self._raw_written: set[str] = set()
        self._in_doubt = False
        self._closed = False
        self.id = f"{header.started.astimezone(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(3)}"
        with uninterrupted(place.name, engine) as connection:
            self._header = self._begin(connection, header)

    def _begin(self, connection: Connection, header: RunHeader) -> RunHeader:
        bundle = chain.Bundle(self.id)
        parts = PartsInTransaction(connection)
        about = parts.row(header.part, header.board.simulated, bundle)
        header = header.model_copy(update={"part": parts.part(about)})
        run = rows.run_row(self.id, about["key"], header, Texts(connection), bundle)
        bundle.add(tables.run, run)
        chain.append(connection, [bundle])
        sums = summary.load(connection, [about["id"]])
        sums.begin(run, about)
        sums.put(connection)
        return header

    @property
    def part(self) -> Part:
        """The part with its id, given by the store when it had none."""
        return self._header.part

    def add(self, judged: Judged) -> None:
        """Keep one measurement. Raises StoreTrouble, its record so far rescued; a later call tries again."""
        self._check_open()
        self._judged.append(judged)
        try:
            with uninterrupted(self._place.name, self._engine) as connection:
                bundle = self._unwritten(connection)
                chain.append(connection, [bundle])
        except (StoreTrouble, IntegrityError) as error:
            record = self._record(None, cut_off(len(self._judged)), 0.0)
            raise rescued(self._trouble(error), self._place, record) from error
        self._note_written(bundle)

    def finish(
        self, verdict: Verdict, ended: datetime, bench_s: float, faults: tuple[NamedFault, ...] = (),
        entry: crates.Entry | None = None,
    ) -> RunRecord:  # fmt: skip
        """Close the run with its verdict and what the diagnosis named, and give the record.

        `entry`: what happens to a crate with it, in the same transaction: both are kept, or neither.
        Raises StoreTrouble, the record rescued, and CrateRefused.
        """
        self._check_open()
        record = self._record(ended, verdict, bench_s, faults)
        try:
            with uninterrupted(self._place.name, self._engine) as connection:
                self._close(connection, record, entry)
        except (StoreTrouble, IntegrityError) as error:
            raise rescued(self._trouble(error), self._place, record) from error
        self._closed = True
        heads.follow(self._engine, self._place)
        return record

    def _close(self, connection: Connection, record: RunRecord, entry: crates.Entry | None) -> None:
        bundle = self._unwritten(connection)
        of_run = select(func.count()).where(tables.measurement.c.run == self.id)
        if connection.execute(of_run).scalar_one() != self._written:
            raise self._other()
        rows.add_end(bundle, record)
        if entry is not None:
            crates.place(connection, entry, bundle)
        chain.append(connection, [bundle])
        sums = summary.load(connection, [self.part.id])
        readings = rows.measurement_rows(self.id, record)
        run = dict(started=stamp(record.started), rating=record.plan.rating.rating)
        sums.end(self.part.id, run, rows.end_row(record), readings)
        sums.put(connection)

    def _trouble(self, error: StoreTrouble | IntegrityError) -> StoreTrouble:
        if isinstance(error, StoreTrouble):
            return error
        return self._other()

    def _other(self) -> StoreTrouble:
        says = f"The run {self.id} in the store{AT} goes on otherwise than here: another program wrote into it."
        return StoreTrouble(f"{says} What is there stays. Test the part again.", place=self._place.name)

    def _check_open(self) -> None:
        if self._closed:
            raise RuntimeError(f"run {self.id} is closed; nothing can be added to it")

    def _unwritten(self, connection: Connection) -> chain.Bundle:
        """What is not written yet, also what an earlier trouble left."""
        if self._in_doubt:
            self._look_again(connection)
        bundle, known = chain.Bundle(self.id), set(self._raw_written)
        simulated = self._header.board.simulated
        for seq, judged in enumerate(self._judged[self._written :], self._written):
            rows.add_judged(bundle, self.id, seq, simulated, judged, known)
        self._in_doubt = True  # until `_note_written`: Ctrl-C or a lost server may come right behind the commit
        return bundle

    def _look_again(self, connection: Connection) -> None:
        """More may be kept than was acknowledged; the next try begins behind that."""
        kept = select(tables.measurement.c.seq).where(tables.measurement.c.run == self.id)
        raw = select(tables.raw.c.sha256).where(tables.raw.c.run == self.id)
        self._written = len(connection.execute(kept).all())
        self._raw_written = set(connection.execute(raw).scalars())

    def _note_written(self, bundle: chain.Bundle) -> None:
        self._raw_written |= {row["sha256"] for table, row in bundle.rows if table is tables.raw}
        self._written = len(self._judged)
        self._in_doubt = False

    def _record(
        self, ended: datetime | None, verdict: Verdict, bench_s: float, faults: tuple[NamedFault, ...] = ()
    ) -> RunRecord:
        head = {name: getattr(self._header, name) for name in RunHeader.model_fields}
        return RunRecord(
            **head,
            run=self.id,
            ended=ended,
            judged=tuple(self._judged),
            verdict=verdict,
            bench_s=bench_s,
            faults=faults,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._closed = True
