"""Writing a run as it goes. Rule: when a method returns, what it was given is on the disk."""

import hashlib
import json
import os
import re
import secrets
import tempfile
import zlib
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine, func, insert, select

from pulldrop.model.calibration import Calibration
from pulldrop.model.fault import NamedFault
from pulldrop.model.identity import Identity
from pulldrop.model.limit import Limit
from pulldrop.model.part_id import next_free
from pulldrop.model.plan import Plan
from pulldrop.model.raw import Frozen
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.record import Part, RunRecord
from pulldrop.model.verdict import Judged, Verdict
from pulldrop.store import crates, tables
from pulldrop.store.errors import PartRefused, StoreTrouble, explained
from pulldrop.store.place import writing
from pulldrop.store.read import cut_off
from pulldrop.store.stamps import stamp

PART_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,19}")
"""Short, and writable with a pen."""


class RunHeader(Frozen):
    """What is known before the first measurement. An empty `part.id` asks the store for the next free one."""

    part: Part
    started: datetime
    plan: Plan
    board: Identity
    calibration: Calibration
    software: str
    operator: str = ""
    specimen: str = ""
    seed: int | None = None


def dump(value: object) -> str:
    """JSON of nouns; plain `json`, because it keeps every float, infinity too, as it is."""
    return json.dumps(value, separators=(",", ":"))


class OpenRun:
    """One run while it goes on. Leaving it without `finish` leaves it interrupted, by nothing being written."""

    def __init__(self, name: str, file: Path | None, engine: Engine, header: RunHeader) -> None:
        self._name, self._file, self._engine = name, file, writing(engine)
        self._judged: list[Judged] = []
        self._written = 0
        self._raw_written: set[str] = set()
        self._closed = False
        self.id = f"{header.started.astimezone(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(3)}"
        with explained(self._name), self._engine.begin() as connection:
            key, part = part_row(connection, header.part, header.board.simulated)
            self._header = header.model_copy(update={"part": part})
            connection.execute(insert(tables.run), _run_row(self.id, key, self._header))

    @property
    def part(self) -> Part:
        """The part with its id, given by the store when it had none."""
        return self._header.part

    def add(self, judged: Judged) -> None:
        """Keep one measurement. Raises StoreTrouble, its record so far rescued; a later call tries again."""
        self._check_open()
        self._judged.append(judged)
        try:
            with explained(self._name), self._engine.begin() as connection:
                raw = self._write_judged(connection)
            self._note_written(raw)
        except StoreTrouble as trouble:
            raise self._rescued(trouble, self._record(None, cut_off(len(self._judged)), 0.0)) from trouble
        except KeyboardInterrupt:  # it may have come between the commit and our note of it
            self._look_what_is_written()
            raise

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
            with explained(self._name), self._engine.begin() as connection:
                raw = self._write_judged(connection)
                for seq, one in enumerate(faults):
                    connection.execute(insert(tables.fault), _fault_row(self.id, seq, one))
                connection.execute(insert(tables.run_end), _end_row(record))
                if entry is not None:
                    crates.append(connection, entry)
        except StoreTrouble as trouble:
            raise self._rescued(trouble, record) from trouble
        self._note_written(raw)
        self._closed = True
        return record

    def _check_open(self) -> None:
        if self._closed:
            raise RuntimeError(f"run {self.id} is closed; nothing can be added to it")

    def _write_judged(self, connection: Connection) -> set[str]:
        """Write what is not written yet, also what an earlier trouble left; gives the digests of new raw data."""
        new: set[str] = set()
        simulated = self._header.board.simulated
        for seq, judged in enumerate(self._judged[self._written :], self._written):
            connection.execute(insert(tables.measurement), _measurement_row(self.id, seq, simulated, judged))
            readings = judged.finding.raw if isinstance(judged.finding, Reading) else ()
            for position, one in enumerate(readings):
                body = one.model_dump_json().encode()
                digest = hashlib.sha256(body).hexdigest()
                if digest not in self._raw_written | new:
                    connection.execute(insert(tables.raw), dict(run=self.id, sha256=digest, body=zlib.compress(body)))
                    new.add(digest)
                row = dict(run=self.id, seq=seq, position=position, sha256=digest)
                connection.execute(insert(tables.measurement_raw), row)
        return new

    def _look_what_is_written(self) -> None:
        with explained(self._name), self._engine.connect() as connection:
            own, raw = tables.measurement.c, tables.raw.c
            self._written = connection.execute(select(func.count()).where(own.run == self.id)).scalar_one()
            self._raw_written = set(connection.execute(select(raw.sha256).where(raw.run == self.id)).scalars())

    def _note_written(self, raw: set[str]) -> None:
        self._raw_written |= raw
        self._written = len(self._judged)

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

    def _rescued(self, trouble: StoreTrouble, record: RunRecord) -> StoreTrouble:
        folders = [Path(tempfile.gettempdir())]
        if self._file is not None:
            folders.insert(0, self._file.parent)
        for folder in folders:
            try:
                kept = _write_whole(folder / f"pulldrop-rescue-{self.id}.json", record.model_dump_json(indent=1))
            except OSError:
                continue
            return StoreTrouble(f"{trouble} The record so far is kept in {kept}.", kept)
        looked = " and ".join(str(folder) for folder in folders)
        return StoreTrouble(f"{trouble} The record so far could not be kept anywhere else either (tried {looked}).")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._closed = True


def _write_whole(file: Path, text: str) -> Path:
    """The whole text or no file at all."""
    half = file.with_suffix(".part")
    try:
        with half.open("w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        half.replace(file)
    except OSError:
        half.unlink(missing_ok=True)
        raise
    return file


def part_row(connection: Connection, part: Part, simulated: bool) -> tuple[int, Part]:
    """The key of the part's row, added when the part or its description is new."""
    if not part.id:
        part = part.model_copy(update={"id": _next_id(connection)})
    if not PART_ID.fullmatch(part.id):
        raise PartRefused(
            f"'{part.id}' cannot be a part's id: at most 20 letters, digits, dots and dashes are expected, beginning "
            "with a letter or digit, so that it can be written on the part. Choose another, or give none."
        )
    query = select(tables.part).where(tables.part.c.id == part.id).order_by(tables.part.c.key.desc())
    last = connection.execute(query).first()
    if last is not None and bool(last.simulated) != simulated:
        kept, new = ("a simulated", "real") if last.simulated else ("a real", "simulated")
        raise PartRefused(f"{part.id} is {kept} part; a {new} run cannot be kept under it. Choose another part id.")
    if last is not None:  # what is not told anew stays as it was
        told = {name: getattr(part, name) or getattr(last, name) for name in ("label", "donor", "notes")}
        part = part.model_copy(update=told)
    row = part.model_dump()
    if last is not None and all(getattr(last, name) == value for name, value in row.items()):
        return int(last.key), part
    added = connection.execute(insert(tables.part).returning(tables.part.c.key), {**row, "simulated": simulated})
    return int(added.scalar_one()), part


def _next_id(connection: Connection) -> str:
    return next_free(connection.execute(select(tables.part.c.id).distinct()).scalars())


def _run_row(run: str, part_key: int, header: RunHeader) -> dict[str, object]:
    plan = header.plan
    return dict(
        id=run,
        part=part_key,
        simulated=header.board.simulated,
        started=stamp(header.started),
        protocol=plan.protocol,
        protocol_version=plan.version,
        protocol_sha256=plan.sha256,
        protocol_text=plan.text,
        rating=plan.rating.rating,
        plan=dump(plan.model_dump(mode="json", exclude={"text"})),
        board_kind=header.board.kind,
        board_serial=header.board.serial,
        firmware=header.board.firmware,
        board=dump(header.board.model_dump(mode="json")),
        calibration=dump(header.calibration.model_dump(mode="json")),
        software=header.software,
        operator=header.operator,
        specimen=header.specimen,
        seed=header.seed,
    )


def _measurement_row(run: str, seq: int, simulated: bool, judged: Judged) -> dict[str, object]:
    row: dict[str, object] = dict(
        run=run, seq=seq, simulated=simulated, id=judged.id, outcome=judged.outcome.value, reason=judged.reason
    )
    finding = judged.finding
    if isinstance(finding, NotTested):
        return {
            **row,
            **_limit_columns(judged.limit),
            "not_tested": finding.reason,
            "without_load": finding.without_load,
        }
    return {
        **row,
        **_limit_columns(judged.limit),
        "value": finding.value,
        "unit": finding.unit,
        "state": finding.state,
        "bound": finding.bound,
        "expanded_uncertainty": finding.expanded_uncertainty,
        "conditions": dump([c.model_dump(mode="json") for c in finding.conditions]),
        "budget": dump([t.model_dump(mode="json") for t in finding.budget]),
        "makes": dump(list(finding.makes)),
    }


def _limit_columns(limit: Limit | None) -> dict[str, object]:
    if limit is None:
        return {}
    return dict(
        limit_text=limit.text,
        limit_low=limit.low,
        limit_high=limit.high,
        limit_state=limit.state,
        limit_unit=limit.unit,
        limit_source=limit.source.text,
        limit_known=limit.source.known,
    )


def _fault_row(run: str, seq: int, one: NamedFault) -> dict[str, object]:
    return dict(run=run, seq=seq, id=one.id, weight=one.weight, body=dump(one.model_dump(mode="json")))


def _end_row(record: RunRecord) -> dict[str, object]:
    assert record.ended is not None
    verdict = record.verdict
    return dict(
        run=record.run,
        ended=stamp(record.ended),
        bench_s=record.bench_s,
        measurements=len(record.judged),
        overall=verdict.overall.value,
        found=verdict.found,
        means=verdict.means,
        next=verdict.next,
    )
