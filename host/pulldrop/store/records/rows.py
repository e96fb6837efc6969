"""Nouns into rows of the tables, the way in; `read.py` is the way out. Pure, but for texts that are kept once."""

import hashlib
import zlib
from datetime import datetime

from pydantic import TypeAdapter
from pydantic_core import to_json

from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.kinds import AnyPart
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.raw import LATER, Frozen
from pulldrop.model.reading import Condition, NotTested, Reading, Term, state_code
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Verdict
from pulldrop.store.database import tables
from pulldrop.store.database.chain import Bundle
from pulldrop.store.database.stamps import stamp
from pulldrop.store.records.texts import Texts

_CONDITIONS = TypeAdapter(tuple[Condition, ...], config=LATER)
_BUDGET = TypeAdapter(tuple[Term, ...], config=LATER)


class RunHeader(Frozen):
    """What is known before the first measurement. An empty `part.id` asks the store for the next free one."""

    part: AnyPart
    started: datetime
    plan: Plan
    board: Identity
    calibration: Calibration
    software: str
    operator: str = ""
    specimen: str = ""
    seed: int | None = None
    siblings: TypeReference | None = None


def dump(value: object) -> str:
    """JSON of dumped nouns; every float as it is, infinity too, which a noun's own JSON would drop."""
    return to_json(value, inf_nan_mode="constants").decode()


def plan_text(plan: Plan) -> str:
    """A plan as it is kept: without the text of its protocol, which has a column of its own in `run`."""
    return dump(plan.model_dump(exclude={"text"}))


def _whole(noun: Frozen) -> str:
    return dump(noun.model_dump())


def run_row(run: str, part_key: int, header: RunHeader | RunRecord, texts: Texts, bundle: Bundle) -> dict[str, object]:
    """One run; texts that are new go into `bundle`."""
    plan = header.plan
    return dict(
        id=run,
        part=part_key,
        simulated=header.board.simulated,
        started=stamp(header.started),
        protocol=plan.protocol,
        protocol_version=plan.version,
        protocol_sha256=plan.sha256,
        protocol_text=texts.refer(plan.text, bundle),
        rating=plan.rating.rating,
        plan=texts.shared("plan", plan, plan_text, bundle),
        board_kind=header.board.kind,
        board_serial=header.board.serial,
        firmware=header.board.firmware,
        board=texts.shared("board", header.board, _whole, bundle),
        calibration=texts.shared("calibration", header.calibration, _whole, bundle),
        software=header.software,
        operator=header.operator,
        specimen=texts.refer(header.specimen, bundle),
        seed=header.seed,
        siblings=header.siblings and texts.shared("siblings", header.siblings, _whole, bundle),
    )


def add_judged(bundle: Bundle, run: str, seq: int, simulated: bool, judged: Judged, known_raw: set[str]) -> None:
    """The rows of one measurement; raw data that are in `known_raw` are there already, new ones are added to it."""
    bundle.add(tables.measurement, _measurement_row(run, seq, simulated, judged))
    if not isinstance(judged.finding, Reading):
        return
    for position, one in enumerate(judged.finding.raw):
        body = one.model_dump_json().encode()
        digest = hashlib.sha256(body).hexdigest()
        if digest not in known_raw:
            bundle.add(tables.raw, dict(run=run, sha256=digest, body=zlib.compress(body)))
            known_raw.add(digest)
        bundle.add(tables.measurement_raw, dict(run=run, seq=seq, position=position, sha256=digest))


def measurement_rows(run: str, record: RunRecord) -> list[dict[str, object]]:
    """The measurements of a record without their raw data."""
    return [_measurement_row(run, seq, record.simulated, judged) for seq, judged in enumerate(record.judged)]


def add_end(bundle: Bundle, record: RunRecord) -> None:
    """The rows that close a run."""
    for seq, one in enumerate(record.faults):
        bundle.add(tables.fault, _fault_row(record.run, seq, one))
    bundle.add(tables.run_end, end_row(record))


def _measurement_row(run: str, seq: int, simulated: bool, judged: Judged) -> dict[str, object]:
    finding, limit = judged.finding, judged.limit
    row: dict[str, object] = {
        "run": run,
        "seq": seq,
        "simulated": simulated,
        "id": judged.id,
        "outcome": judged.outcome.value,
        "reason": judged.reason,
    }
    if judged.grade is not None:
        row["grade"] = judged.grade.value
    if limit is not None:
        row["limit_text"], row["limit_low"], row["limit_high"] = limit.text, limit.low, limit.high
        row["limit_state"], row["limit_unit"] = limit.state.code if limit.state is not None else None, limit.unit
        row["limit_source"], row["limit_known"] = limit.source.text, limit.source.known
    if isinstance(finding, NotTested):
        row["not_tested"], row["because"] = finding.reason, finding.because
        return row
    row["value"], row["unit"] = finding.value, finding.unit
    row["state"] = state_code(finding.state) if finding.state is not None else None
    row["bound"], row["expanded_uncertainty"] = finding.bound, finding.expanded_uncertainty
    row["conditions"] = dump(_CONDITIONS.dump_python(finding.conditions)) if finding.conditions else "[]"
    row["budget"] = dump(_BUDGET.dump_python(finding.budget)) if finding.budget else "[]"
    row["makes"] = dump(finding.makes) if finding.makes else "[]"
    return row


def _fault_row(run: str, seq: int, one: NamedFault) -> dict[str, object]:
    return dict(run=run, seq=seq, id=one.id, weight=one.weight, body=dump(one.model_dump()))


def end_row(record: RunRecord) -> dict[str, object]:
    """The end of a run that has one."""
    assert record.ended is not None
    return dict(
        run=record.run,
        ended=stamp(record.ended),
        bench_s=record.bench_s,
        measurements=len(record.judged),
        **verdict_columns(record.verdict),
    )


def verdict_columns(verdict: Verdict) -> dict[str, object]:
    """A verdict, as the end of a run and a later judgement have it."""
    unlike = dump(verdict.unlike.model_dump()) if verdict.unlike else None
    return {**verdict.model_dump(mode="json", exclude={"unlike"}), "unlike": unlike}
