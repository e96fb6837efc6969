"""Reading history back: whole records equal to what was written, and lines for lists.

Rule: a run without an end reads as interrupted, whatever else it holds.
"""

import hashlib
import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import Connection, Row, Select, exists, select

from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.limit import Limit, Source
from pulldrop.model.origin import Arrived, Origin, origin_of
from pulldrop.model.part.kinds import AnyPart
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.part import Part
from pulldrop.model.part.parts_page import RunLine
from pulldrop.model.part.rating import IN_SI
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.raw import LATER
from pulldrop.model.reading import NotTested, Raw, Reading, state_of
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Grade, Mark
from pulldrop.model.steps import STEPS
from pulldrop.model.verdict import Judged, Outcome, Overall, Verdict
from pulldrop.store.database import tables
from pulldrop.store.errors import AT, NotKept
from pulldrop.store.records.arrived import arrived
from pulldrop.store.records.parts import births_of, part_of
from pulldrop.store.records.texts import resolve
from pulldrop.store.sums import joined
from pulldrop.store.sums.tables import part_now

MOST_RAW = 16 * 2**20
"""Bytes of the raw data of one request; a capture with 10,000 samples has 100 kB."""
SHARED_TEXTS = ("protocol_text", "plan", "board", "calibration", "specimen", "siblings")
MANY = 500
"""From so many parts on the births of all, and how runs arrived, are read at once."""
_RAW: TypeAdapter[Raw] = TypeAdapter(Raw, config=LATER)


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part as a list shows it, with its last description, the number of its runs and the last of them, if any."""

    part: AnyPart
    simulated: bool
    runs: int
    last: RunLine | None
    described: Origin = Origin.HERE
    """How that description came."""


def cut_off(measurements: int) -> Verdict:
    """The verdict of a run that has no end."""
    return Verdict(
        overall=Overall.INTERRUPTED,
        found=f"The run has no end: it was cut off after {measurements} measurements, or it is still going.",
        means="It says nothing of the part as a whole.",
        next="Test the part again.",
    )


def parts(connection: Connection) -> tuple[PartLine, ...]:
    """Every part, by its id."""
    return part_lines(connection, connection.execute(select(part_now).order_by(part_now.c.id)).all())


def part(connection: Connection, store: str, part_id: str) -> PartLine:
    """One part, by any id that it has. Raises NotKept."""
    row = connection.execute(select(part_now).where(part_now.c.id == joined.whose(connection, part_id))).first()
    if row is None:
        raise _no_part(store, part_id)
    return part_lines(connection, [row])[0]


def runs(connection: Connection, store: str, part_id: str) -> tuple[RunLine, ...]:
    """The runs of one part, the oldest first. Raises NotKept when there is no such part."""
    ids = joined.ids_of(connection, part_id)
    rows = connection.execute(_lines().where(tables.part.c.id.in_(ids))).all()
    came = arrived(connection, tables.run, [row.id for row in rows])
    lines = tuple(_line(row, row.id, row.part_id, came) for row in rows)
    known = lines or connection.execute(select(part_now.c.id).where(part_now.c.id.in_(ids))).first()
    if not known:
        raise _no_part(store, part_id)
    return lines


def energised_since(connection: Connection, board: Identity, since: datetime) -> bool:
    """Whether a run of this board here, begun at `since` (UTC) or later, has read what needs the coil supply.

    A run's id begins with its moment to the second, so the table is entered by its key.
    """
    run, read, came = tables.run.c, tables.measurement.c, tables.arrival.c
    unfed = {id for step in STEPS.values() if not step.fed for id in step.gives}
    wanted = select(run.id).join_from(tables.run, tables.measurement, read.run == run.id).where(
        run.id >= f"{since:%Y%m%dT%H%M%S}", run.started >= since.isoformat(), run.board_kind == board.kind,
        run.board_serial == board.serial, read.not_tested.is_(None), read.id.not_in(sorted(unfed)),
        ~exists().where(came.kind == "run", came.of == run.id),
    )  # fmt: skip
    return connection.execute(wanted.limit(1)).first() is not None


def _no_part(store: str, part_id: str) -> NotKept:
    return NotKept(f"The store{AT} holds no part '{part_id}'. Ids are written as on the part, such as 4K7RT.", store)


def record(connection: Connection, store: str, run_id: str) -> RunRecord:
    """The whole run, equal to what was written. Raises NotKept, and ValueError when the data are damaged."""
    run = connection.execute(select(tables.run).where(tables.run.c.id == run_id)).first()
    if run is None:
        raise NotKept(f"The store{AT} holds no run '{run_id}'.", store)
    end = connection.execute(select(tables.run_end).where(tables.run_end.c.run == run_id)).first()
    part_row = connection.execute(select(tables.part).where(tables.part.c.key == run.part)).one()
    judged = _judged(connection, run_id)
    if end is not None and end.measurements != len(judged):
        raise ValueError(f"{end.measurements} measurements at its end, {len(judged)} now")
    texts = {name: resolve(connection, getattr(run, name) or "") for name in SHARED_TEXTS}
    about = part_of(part_row._mapping, births_of(connection, [part_row.id]))
    came = arrived(connection, tables.run, [run_id]).get(run_id)
    return _record(run, texts, about, end, judged, _faults(connection, run_id), came)


def _lines() -> Select[Any]:
    run, end = tables.run.c, tables.run_end.c
    columns = (
        run.id, run.simulated, run.started, run.protocol, run.protocol_version, run.rating, run.board_kind,
        run.operator, tables.part.c.id.label("part_id"), end.ended, end.overall, end.mark,
    )  # fmt: skip
    joined = tables.run.join(tables.part, run.part == tables.part.c.key).outerjoin(tables.run_end, end.run == run.id)
    return select(*columns).select_from(joined).order_by(run.started, run.id)


def _line(row: Row[Any], run: str, part: str, came: Mapping[str, Arrived]) -> RunLine:
    return RunLine(
        run=run,
        part=part,
        simulated=row.simulated,
        origin=origin_of(row.simulated, came.get(run)),
        started=datetime.fromisoformat(row.started),
        ended=datetime.fromisoformat(row.ended) if row.ended else None,
        protocol=row.protocol,
        protocol_version=row.protocol_version,
        rating=row.rating,
        board_kind=row.board_kind,
        operator=row.operator,
        overall=Overall(row.overall) if row.overall else Overall.INTERRUPTED,
        mark=_mark(row),
    )


def part_lines(connection: Connection, rows: Sequence[Row[Any]]) -> tuple[PartLine, ...]:
    """Rows of `part_now` as lines of a list."""
    few = len(rows) < MANY
    births = births_of(connection, [row.id for row in rows] if few else None)
    came = arrived(connection, tables.run, [row.run for row in rows] if few else None)
    described = arrived(connection, tables.part, [str(row.key) for row in rows] if few else None)
    return tuple(
        PartLine(
            part=part_of(row._mapping, births),
            simulated=row.simulated,
            runs=row.runs,
            last=_line(row, row.run, row.id, came) if row.run else None,
            described=origin_of(False, described.get(str(row.key))),
        )
        for row in rows
    )


def _faults(connection: Connection, run_id: str) -> tuple[NamedFault, ...]:
    own = tables.fault.c
    rows = connection.execute(select(own.body).where(own.run == run_id).order_by(own.seq))
    return tuple(NamedFault.model_validate_json(row.body) for row in rows)


def _record(
    run: Row[Any],
    texts: dict[str, str],
    of: Part,
    end: Row[Any] | None,
    judged: tuple[Judged, ...],
    faults: tuple[NamedFault, ...],
    came: Arrived | None,
) -> RunRecord:
    return RunRecord(
        run=run.id,
        part=of,
        started=datetime.fromisoformat(run.started),
        ended=datetime.fromisoformat(end.ended) if end else None,
        plan=plan_of(texts["plan"], texts["protocol_text"]),
        board=Identity.model_validate_json(texts["board"]),
        calibration=Calibration.model_validate_json(texts["calibration"]),
        software=run.software,
        judged=judged,
        verdict=verdict_of(end) if end else cut_off(len(judged)),
        bench_s=end.bench_s if end else 0.0,
        operator=run.operator,
        specimen=texts["specimen"],
        seed=run.seed,
        siblings=TypeReference.model_validate_json(texts["siblings"]) if texts["siblings"] else None,
        faults=faults,
        arrived=came,
    )


def plan_of(plan: str, protocol_text: str) -> Plan:
    """A plan as it was kept, with the text of its protocol."""
    return Plan.model_validate_json(json.dumps({**json.loads(plan), "text": protocol_text}), context=IN_SI)


def verdict_of(row: Row[Any]) -> Verdict:
    """The verdict of a run's end, or of a later judgement."""
    columns = {name: getattr(row, name) for name in Verdict.model_fields}
    return Verdict.model_validate(columns | {"unlike": json.loads(row.unlike) if row.unlike else None})


def _mark(row: Row[Any]) -> Mark | None:
    return Mark(row.mark) if row.mark else None


def _judged(connection: Connection, run_id: str) -> tuple[Judged, ...]:
    own, link = tables.measurement.c, tables.measurement_raw.c
    rows = connection.execute(select(tables.measurement).where(own.run == run_id).order_by(own.seq)).all()
    bodies = {
        row.sha256: _unpack(row) for row in connection.execute(select(tables.raw).where(tables.raw.c.run == run_id))
    }
    raw: dict[int, list[Raw]] = {}
    links = select(tables.measurement_raw).where(link.run == run_id).order_by(link.seq, link.position)
    for row in connection.execute(links):
        raw.setdefault(row.seq, []).append(bodies[row.sha256])
    return tuple(_one_judged(row, raw.get(row.seq, [])) for row in rows)


def _unpack(row: Row[Any]) -> Raw:
    unpacked = zlib.decompressobj()
    body = unpacked.decompress(row.body, MOST_RAW)
    if unpacked.unconsumed_tail:
        raise ValueError(f"raw data {row.sha256[:12]} have more than {MOST_RAW // 2**20} MB")
    if hashlib.sha256(body).hexdigest() != row.sha256:
        raise ValueError(f"raw data {row.sha256[:12]} are not what was written")
    return _RAW.validate_json(body)


def _one_judged(row: Row[Any], raw: list[Raw]) -> Judged:
    return Judged(
        id=row.id, outcome=Outcome(row.outcome), reason=row.reason, finding=_finding(row, raw), limit=_limit(row),
        grade=Grade(row.grade) if row.grade else None,
    )  # fmt: skip


def _finding(row: Row[Any], raw: list[Raw]) -> Reading | NotTested:
    if row.not_tested is not None:
        return NotTested(id=row.id, reason=row.not_tested, because=row.because)
    return Reading(
        id=row.id,
        unit=row.unit,
        value=row.value,
        state=state_of(row.state) if row.state is not None else None,
        bound=row.bound,
        budget=json.loads(row.budget),
        conditions=json.loads(row.conditions),
        makes=tuple(json.loads(row.makes)),
        raw=tuple(raw),
    )


def _limit(row: Row[Any]) -> Limit | None:
    if row.limit_text is None:
        return None
    return Limit(
        text=row.limit_text,
        source=Source(text=row.limit_source, known=row.limit_known),
        unit=row.limit_unit,
        low=row.limit_low,
        high=row.limit_high,
        state=ContactState.parse(row.limit_state) if row.limit_state is not None else None,
    )
