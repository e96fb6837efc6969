"""What other parts read by the same test: the readings by which a part is held beside its siblings.

Rule: the last run of each part counts, real and simulated parts never together, only where nothing was named, and
none from outside that no head vouches for.
"""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, exists, select

from pulldrop.model.part.reference import Sibling
from pulldrop.model.reading import Finding, Reading, Term, state_of
from pulldrop.model.run.plan import Plan
from pulldrop.store.database import tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.records.arrived import not_vouched
from pulldrop.store.sums import joined
from pulldrop.store.sums.summary import WHOLE
from pulldrop.store.sums.tables import part_now

MOST = 24
"""So many siblings, the last tested, are as good as all."""


NORMAL_95 = 1.959964
"""Standard uncertainties of a normal quantity that hold 95 %."""


class Siblings(Connected):
    """Readings of other parts."""

    def of_rating(self, plan: Plan, simulated: bool, ids: Iterable[str]) -> tuple[Sibling, ...]:
        """What parts of this plan's rating read by its protocol, of these measurements, a part each."""
        with self.reading("parts of the same type") as connection:
            return _read(connection, plan, simulated, part_now.c.rating == plan.rating.rating, ids)

    def of_parts(self, plan: Plan, simulated: bool, parts: Iterable[str], ids: Iterable[str]) -> tuple[Sibling, ...]:
        """The same of the parts with these ids, whatever rating they were tested by."""
        with self.reading("parts of the same type") as connection:
            these = part_now.c.id.in_([joined.whose(connection, one) for one in parts])
            return _read(connection, plan, simulated, these, ids)


def _read(
    connection: Connection, plan: Plan, simulated: bool, which: ColumnElement[bool], ids: Iterable[str]
) -> tuple[Sibling, ...]:
    now, one = part_now.c, tables.measurement.c
    tested = (now.protocol == plan.protocol) & (now.protocol_version == plan.version) & now.overall.in_(sorted(WHOLE))
    clean = ~exists().where(tables.fault.c.run == now.run) & ~not_vouched(tables.run, now.run)
    query = (
        select(now.run, now.started, tables.run.c.board_kind, tables.run.c.board_serial)
        .join(tables.run, tables.run.c.id == now.run)
        .where(now.simulated == simulated, which, tested, clean)
    )
    runs = connection.execute(query.order_by(now.started.desc(), now.run).limit(MOST)).all()
    found: dict[str, list[Finding]] = {row.run: [] for row in runs}
    readings = select(one.run, one.id, one.unit, one.value, one.bound, one.state, one.expanded_uncertainty).where(
        one.run.in_(list(found)), one.id.in_(sorted(ids)), one.not_tested.is_(None)
    )
    for row in connection.execute(readings.order_by(one.run, one.seq)):
        known = (
            ()
            if row.value is None
            else (Term(name="all", u=row.expanded_uncertainty / NORMAL_95, why="as it was kept"),)
        )
        found[row.run].append(
            Reading(
                id=row.id,
                unit=row.unit,
                value=row.value,
                bound=row.bound,
                state=None if row.state is None else state_of(row.state),
                budget=known,
            )
        )
    return tuple(
        Sibling(
            found=tuple(found[row.run]),
            bench=f"{row.board_kind} {row.board_serial}",
            simulated=simulated,
            tested=datetime.fromisoformat(row.started).date(),
        )
        for row in runs
    )
