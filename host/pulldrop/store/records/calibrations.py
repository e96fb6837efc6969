"""Calibrations and golden parts in the store. Rule: rows are only added; the newest of a board's own kind counts."""

from datetime import datetime

from sqlalchemy import select

from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import CalibrationRecord, Golden
from pulldrop.model.origin import Arrived
from pulldrop.store.database import chain, tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.database.stamps import stamp
from pulldrop.store.records.arrived import arrived, not_vouched
from pulldrop.store.sums import joined


class Calibrations(Connected):
    """Calibrations of boards, and golden parts."""

    def add_calibration(self, record: CalibrationRecord) -> None:
        """Keep one calibration; those before it stay."""
        with self.writing() as connection:
            taken_at = record.calibration.taken_at
            if taken_at is None:
                raise ValueError("nominal values are no calibration and are not kept")
            row = dict(
                key=chain.next_key(connection, tables.calibration),
                taken_at=stamp(taken_at),
                simulated=record.simulated,
                board_kind=record.board.kind,
                board_serial=record.board.serial,
                record=record.model_copy(update={"arrived": None}).model_dump_json(),
            )
            chain.append(connection, [chain.Bundle(rows=[(tables.calibration, row)])])

    def calibrations(self) -> tuple[CalibrationRecord, ...]:
        """All of them, the oldest first."""
        with self.reading("the list of calibrations") as connection:
            own = tables.calibration.c
            came = arrived(connection, tables.calibration)
            rows = connection.execute(select(own.record, own.key).order_by(own.taken_at, own.key))
            return tuple(_as_kept(row.record, came.get(str(row.key))) for row in rows)

    def newest_calibration(self, board: Identity) -> CalibrationRecord | None:
        """The one that holds for this board: of its own kind and serial number, never of another.

        Nor one from outside that nothing vouches for: it would alter every reading, and those are measured here.
        """
        with self.reading(f"calibration of board {board.serial}") as connection:
            own = tables.calibration.c
            this = (own.board_kind == board.kind, own.simulated == board.simulated, own.board_serial == board.serial)
            query = select(own.record, own.key).where(*this, ~not_vouched(tables.calibration, own.key))
            row = connection.execute(query.order_by(own.taken_at.desc(), own.key.desc()).limit(1)).first()
            return _as_kept(row.record, arrived(connection, tables.calibration).get(str(row.key))) if row else None

    def mark_golden(self, golden: Golden) -> None:
        """Keep that a part is one by which the bench is checked."""
        with self.writing() as connection:
            key = chain.next_key(connection, tables.golden)
            row = dict(key=key, part=golden.part, run=golden.run, marked=stamp(golden.marked))
            chain.append(connection, [chain.Bundle(golden.run, [(tables.golden, row)])])

    def golden(self, part_id: str) -> Golden | None:
        """What a part was last marked with, here or where a head vouches for it; None for an ordinary part."""
        with self.reading(f"part {part_id}") as connection:
            own = tables.golden.c
            ids = joined.ids_of(connection, part_id)
            query = select(tables.golden).where(own.part.in_(ids), ~not_vouched(tables.golden, own.key))
            row = connection.execute(query.order_by(own.key.desc())).first()
            return Golden(part=row.part, run=row.run, marked=datetime.fromisoformat(row.marked)) if row else None


def _as_kept(record: str, came: Arrived | None) -> CalibrationRecord:
    return CalibrationRecord.model_validate_json(record).model_copy(update={"arrived": came})
