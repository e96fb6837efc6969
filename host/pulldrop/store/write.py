"""Writing a run as it goes. Rule: when a method returns, what it was given is on the disk."""

import re
import secrets
from datetime import UTC, datetime
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine, select

from pulldrop.model.fault import NamedFault
from pulldrop.model.part_id import next_free, well_formed
from pulldrop.model.record import Part, RunRecord
from pulldrop.model.verdict import Judged, Verdict
from pulldrop.store import chain, crates, rows, summary, tables
from pulldrop.store.errors import PartRefused, StoreTrouble, explained
from pulldrop.store.place import Place, writing
from pulldrop.store.read import cut_off
from pulldrop.store.rescue import rescued
from pulldrop.store.rows import RunHeader
from pulldrop.store.stamps import stamp
from pulldrop.store.texts import Texts

PART_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,19}")
"""Short, and writable with a pen."""
LOOK_BACK = 100
"""Newest parts among which the last number given is looked for."""


class OpenRun:
    """One run while it goes on. Leaving it without `finish` leaves it interrupted, by nothing being written."""

    def __init__(self, place: Place, engine: Engine, header: RunHeader) -> None:
        self._place, self._engine = place, writing(engine)
        self._judged: list[Judged] = []
        self._written = 0
        self._raw_written: set[str] = set()
        self._in_doubt = False
        self._closed = False
        self.id = f"{header.started.astimezone(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(3)}"
        with explained(place.name), self._engine.begin() as connection:
            self._header = self._begin(connection, header)

    def _begin(self, connection: Connection, header: RunHeader) -> RunHeader:
        bundle = chain.Bundle(self.id)
        about = part_row(connection, header.part, header.board.simulated, bundle)
        header = header.model_copy(update={"part": part_of(about)})
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
            with explained(self._place.name), self._engine.begin() as connection:
                bundle = self._unwritten(connection)
                chain.append(connection, [bundle])
        except StoreTrouble as trouble:
            raise rescued(trouble, self._place, self._record(None, cut_off(len(self._judged)), 0.0)) from trouble
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
            with explained(self._place.name), self._engine.begin() as connection:
                self._close(connection, record, entry)
        except StoreTrouble as trouble:
            raise rescued(trouble, self._place, record) from trouble
        self._closed = True
        return record

    def _close(self, connection: Connection, record: RunRecord, entry: crates.Entry | None) -> None:
        bundle = self._unwritten(connection)
        rows.add_end(bundle, record)
        if entry is not None:
            crates.place(connection, entry, bundle)
        chain.append(connection, [bundle])
        sums = summary.load(connection, [self.part.id])
        readings = rows.measurement_rows(self.id, record)
        run = dict(started=stamp(record.started), rating=record.plan.rating.rating)
        sums.end(self.part.id, run, rows.end_row(record), readings)
        sums.put(connection)

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
            simulated=self._header.board.simulated,
            judged=tuple(self._judged),
            verdict=verdict,
            bench_s=bench_s,
            faults=faults,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._closed = True


def part_row(connection: Connection, part: Part, simulated: bool, bundle: chain.Bundle) -> chain.Values:
    """The part's row; put into `bundle` when the part or its description is new. Raises PartRefused.

    A part without an id gets the next free one.
    """
    if not part.id:
        part = part.model_copy(update={"id": next_id(connection)})
    if not PART_ID.fullmatch(part.id):
        raise PartRefused(
            f"'{part.id}' cannot be a part's id: at most 20 letters, digits, dots and dashes are expected, beginning "
            "with a letter or digit, so that it can be written on the part. Choose another, or give none."
        )
    query = select(tables.part).where(tables.part.c.id == part.id).order_by(tables.part.c.key.desc()).limit(1)
    last = connection.execute(query).mappings().first()
    if last is not None and bool(last["simulated"]) != simulated:
        kept, new = ("a simulated", "real") if last["simulated"] else ("a real", "simulated")
        raise PartRefused(f"{part.id} is {kept} part; a {new} run cannot be kept under it. Choose another part id.")
    if last is not None:  # what is not told anew stays as it was
        told = {name: getattr(part, name) or last[name] for name in ("label", "donor", "notes")}
        part = part.model_copy(update=told)
    row = {**part.model_dump(), "simulated": simulated}
    if last is not None and all(last[name] == value for name, value in row.items()):
        return last
    row = {**row, "key": chain.next_key(connection, tables.part)}
    bundle.add(tables.part, row)
    return row


def part_of(row: chain.Values) -> Part:
    """The part that a row describes."""
    return Part.model_validate({name: row[name] for name in Part.model_fields})


def keep_part(connection: Connection, part: Part, simulated: bool) -> Part:
    """Write a part, or another description of it, by itself. Raises PartRefused."""
    bundle = chain.Bundle()
    about = part_row(connection, part, simulated, bundle)
    if bundle.rows:
        chain.append(connection, [bundle])
        sums = summary.load(connection, [about["id"]])
        sums.describe(about)
        sums.put(connection)
    return part_of(about)


def next_id(connection: Connection) -> str:
    """The next free id for a part without one. The connection is one for writing, so nobody else takes it.

    The newest parts tell where the counting stands; all are asked only when they do not.
    """
    own = tables.part.c
    newest = list(connection.execute(select(own.id).order_by(own.key.desc()).limit(LOOK_BACK)).scalars())
    id = next_free(newest)
    if any(map(well_formed, newest)) and connection.execute(select(own.key).where(own.id == id)).first() is None:
        return id
    return next_free(connection.execute(select(own.id).distinct()).scalars())
