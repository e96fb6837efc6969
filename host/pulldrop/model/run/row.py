"""One measurement of one run on a line, as CSV and Parquet files hold it; for spreadsheets and other programs.

Rule: every row says for itself whether it is simulated. What a flat row cannot hold (budget, raw data) the JSON has.
"""

from datetime import datetime
from typing import Literal

from pydantic import Field

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.raw import Frozen
from pulldrop.model.reading import Reading, state_code
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged


class MeasurementRow(Frozen):
    """Values, limits and uncertainties in the SI unit named in `unit`. Empty is what does not apply."""

    run: str
    part: str
    label: str
    donor: str
    simulated: bool
    origin: str = Field(description="measured here, simulated, or from outside")
    started: datetime
    ended: datetime | None = Field(description="empty: the run was cut off")
    protocol: str
    protocol_version: int
    protocol_sha256: str
    rating: str
    board: Literal["real", "emulated", "virtual"]
    board_serial: int
    firmware: str
    software: str
    calibration: str
    calibrated: datetime | None = Field(description="empty: an uncalibrated bench")
    operator: str
    verdict: str = Field(description="of the whole run")
    mark: str = Field(description="what a part that passed must carry: 'light duty', or nothing")
    measurement: str = Field(description="its id, which never changes")
    title: str
    value: float | None
    unit: str
    bound: str = Field(description="'=' a value, '>' more than it, '<' less than it")
    state: str = Field(
        description="of contacts: each pair looked at, 1 closed, such as '30-87=0 30-87a=1'; what clamped the coil;"
        " or a switch's table as JSON"
    )
    expanded_uncertainty: float | None = Field(description="half-width of the interval of 95 %")
    standard_uncertainty: float | None
    makes: int = Field(description="single values behind a median; 0: unknown")
    outcome: str
    grade: str = Field(description="of a contact drop, on the scale of used contacts")
    reason: str
    not_tested: str = Field(description="why there is no value")
    limit_low: float | None
    limit_high: float | None
    limit_state: str
    limit: str = Field(description="as a person reads it")
    limit_source: str
    limit_known: str = Field(description="how the source is known")
    conditions: str


def rows(record: RunRecord) -> tuple[MeasurementRow, ...]:
    """All measurements of a run, those too that were not made; none of a run that was cut off before its first."""
    return tuple(_row(record, judged) for judged in record.judged)


def _row(record: RunRecord, judged: Judged) -> MeasurementRow:
    found, limit = judged.finding, judged.limit
    reading = found if isinstance(found, Reading) else None
    number = reading if reading is not None and reading.value is not None else None
    known = MEASUREMENTS.get(judged.id)
    return MeasurementRow(
        run=record.run,
        part=record.part.id,
        label=record.part.label,
        donor=record.part.donor,
        simulated=record.simulated,
        origin=record.origin,
        started=record.started,
        ended=record.ended,
        protocol=record.plan.protocol,
        protocol_version=record.plan.version,
        protocol_sha256=record.plan.sha256,
        rating=record.plan.rating.rating,
        board=record.board.kind,
        board_serial=record.board.serial,
        firmware=record.board.firmware,
        software=record.software,
        calibration=record.calibration.name,
        calibrated=record.calibration.taken_at,
        operator=record.operator,
        verdict=record.verdict.overall,
        mark=record.verdict.mark or "",
        measurement=judged.id,
        title=known.title if known else judged.id,
        value=number.value if number else None,
        unit=reading.unit if reading else "",
        bound=number.bound if number else "",
        state=state_code(reading.state) if reading and reading.state is not None else "",
        expanded_uncertainty=number.expanded_uncertainty if number else None,
        standard_uncertainty=number.standard_uncertainty if number else None,
        makes=len(reading.makes) if reading else 0,
        outcome=judged.outcome,
        grade=judged.grade or "",
        reason=judged.reason,
        not_tested="" if isinstance(found, Reading) else found.reason,
        limit_low=limit.low if limit else None,
        limit_high=limit.high if limit else None,
        limit_state=limit.state.code if limit and limit.state is not None else "",
        limit=limit.text if limit else "",
        limit_source=limit.source.text if limit else "",
        limit_known=limit.source.known if limit else "",
        conditions="; ".join(f"{one.name} {one.text}" for one in reading.conditions) if reading else "",
    )
