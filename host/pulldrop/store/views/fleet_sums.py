"""What the working sums know of all tested parts together: last runs, straight lines, figures of a type.

Rule: a few queries, however many parts there are, and never real and simulated parts together.
"""

from collections import Counter
from collections.abc import Mapping, Set
from dataclasses import dataclass
from datetime import datetime
from heapq import nlargest

from sqlalchemy import Connection, case, exists, func, select

from pulldrop.model.crate.crate import Bin, Happened
from pulldrop.model.origin import Origin, least_known, origin_of
from pulldrop.model.verdict import Overall
from pulldrop.store.database import tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.database.stamps import stamp
from pulldrop.store.records import read
from pulldrop.store.records.arrived import arrived
from pulldrop.store.records.read import PartLine
from pulldrop.store.sums.summary import EPOCH_S, YEAR_S
from pulldrop.store.sums.tables import part_figure, part_now

Described = tuple[str, str, str]
"""Rating of the last run, donor, and the label, which is kind and position."""
Line = tuple[str, str, float | None, float, float, str, str, str]
"""Part, measurement, share of the way from its first reading to the limit a year (none or below zero: it began beyond
that), when the line meets it and when the last reading was (years since 2020; equal: it is beyond it), description."""
BOTH = 2**0.5
"""Two equal uncertainties together, in one of them."""


@dataclass(frozen=True, slots=True)
class Kind:
    """The last readings of one measurement of all parts of one rating; `sd` their standard deviation.

    `low` and `high` are the limits of the part that reads highest.
    """

    rating: str
    id: str
    parts: int
    mean: float
    sd: float
    least: float
    most: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Odd:
    """A last reading far from the mean of its kind; `u` (expanded) of the reading, `score` in standard deviations."""

    part: str
    last: float
    u: float
    score: float
    kind: Kind


@dataclass(frozen=True, slots=True)
class FleetSums:
    """`lines`: the soonest to meet its limit first. `odd` holds the farthest; `odd_count`: how many there are.

    `parts`: how many are described alike. `late`: when those were last tested whose last run was no pass, or is old.
    """

    parts: dict[Described, int]
    lines: tuple[Line, ...]
    late: dict[str, str]
    kinds: tuple[Kind, ...]
    odd: tuple[Odd, ...]
    odd_count: int


class FleetView(Connected):
    """All tested parts together."""

    def tested_counts(self) -> dict[bool, int]:
        """How many parts were tested: simulated ones, and real ones."""
        with self.reading("the list of parts") as connection:
            own = part_now.c
            query = select(own.simulated, func.count()).where(own.runs > 0).group_by(own.simulated)
            return {bool(simulated): count for simulated, count in connection.execute(query)}

    def scrapped(self) -> frozenset[str]:
        """Ids of the parts whose last run put them into a crate's scrap, which nobody took back."""
        with self.reading("the scrapped parts") as connection:
            own, later = tables.crate_event.c, tables.crate_event.alias()
            undone = exists().where(
                later.c.crate == own.crate,
                later.c.number == own.number,
                later.c.seq > own.seq,
                later.c.kind == Happened.UNDONE.value,
            )
            query = select(part_now.c.id).join(tables.crate_event, own.run == part_now.c.run)
            return frozenset(connection.execute(query.where(own.bin == Bin.SCRAP.value, ~undone)).scalars())

    def least_known_run(self) -> Origin:
        """What all real runs together may be called."""
        with self.reading("what came from outside") as connection:
            came = arrived(connection, tables.run)
            real = tables.run.c.id
            query = select(real).where(~tables.run.c.simulated, real.in_(select(tables.arrival.c.of)))
            return least_known(origin_of(False, came.get(id)) for id in connection.execute(query).scalars())

    def tested(self, simulated: bool, ids: Set[str] | None = None) -> tuple[PartLine, ...]:
        """The tested parts that are real, or that are simulated, or those of these ids among them, by their id."""
        with self.reading("the list of parts") as connection:
            own = part_now.c
            query = select(part_now).where(own.simulated == simulated, own.runs > 0)
            if ids is not None:
                query = query.where(own.id.in_(ids))
            return read.part_lines(connection, connection.execute(query.order_by(own.id)).all())

    def fleet_sums(self, simulated: bool, old: datetime, least: int, away: float, most: int) -> FleetSums:
        """What the working sums know of all real parts together, or of all simulated ones, see `fleet_sums.py`."""
        with self.reading("the working sums") as connection:
            kinds = _kinds(connection, simulated)
            odd, odd_count = _odd(connection, simulated, kinds, away, most)
            described, late = _parts(connection, simulated, stamp(old))
            return FleetSums(
                parts=dict(Counter(described.values())),
                lines=_lines(connection, simulated, least, described),
                late=late,
                kinds=kinds,
                odd=odd,
                odd_count=odd_count,
            )


def years_at(moment: datetime) -> float:
    """A time as the working sums have it: years since 2020."""
    return (moment.timestamp() - EPOCH_S) / YEAR_S


def _parts(connection: Connection, simulated: bool, old: str) -> tuple[dict[str, Described], dict[str, str]]:
    """In one walk through them: how each is described, and `late`."""
    own = part_now.c
    query = select(own.id, own.rating, own.donor, own.label, own.overall, own.started).where(
        own.simulated == simulated, own.runs > 0
    )
    described: dict[str, Described] = {}
    late: dict[str, str] = {}
    alike: dict[Described, Described] = {}
    for id, rating, donor, label, overall, started in connection.execute(query):
        words = (rating, donor, label)
        described[id] = alike.setdefault(words, words)
        if overall != Overall.PASS or started <= old:
            late[id] = started
    return described, late


def _lines(connection: Connection, simulated: bool, least: int, described: Mapping[str, Described]) -> tuple[Line, ...]:
    """Those that meet a limit, soonest first, and moved further than the uncertainties of two readings together."""
    own = part_figure.c
    limit = case((own.per_year > 0, own.high), else_=own.low)
    share = own.per_year / func.nullif(limit - own.first, 0)
    query = select(own.part, own.id, share, own.limit_at, own.last_at).where(
        own.simulated == simulated,
        own.limit_at.is_not(None),
        own.readings >= least,
        limit.is_not(None),
        func.abs(own.per_year) * (own.last_at - own.first_at) > BOTH * own.last_u,
    )
    # plain tuples of plain values are left alone by the garbage collector, rows are not
    rows = connection.execute(query.order_by(own.limit_at))
    return tuple((*row, *described[row[0]]) for row in rows if row[0] in described)


def _kinds(connection: Connection, simulated: bool) -> tuple[Kind, ...]:
    """From the index of siblings alone: it holds all but the limits, in this order."""
    own, one = part_figure.c, part_figure.alias()
    ends = [
        select(column)
        .where(one.c.simulated == simulated, one.c.rating == own.rating, one.c.id == own.id)
        .order_by(order)
        .limit(1)
        .correlate(part_figure)
        .scalar_subquery()
        for column, order in (
            (one.c.last, one.c.last.asc()),
            (one.c.last, one.c.last.desc()),
            (one.c.low, one.c.last.desc()),
            (one.c.high, one.c.last.desc()),
        )
    ]
    sums = (func.count(), func.avg(own.last), func.avg(own.last * own.last))
    query = select(own.rating, own.id, *sums, *ends).where(own.simulated == simulated)
    rows = connection.execute(query.group_by(own.rating, own.id).order_by(own.rating, own.id))
    return tuple(
        Kind(rating, id, parts, mean, _sd(parts, mean, square), least, most, low, high)
        for rating, id, parts, mean, square, least, most, low, high in rows
    )


def _sd(count: int, mean: float, square: float) -> float:
    return float((max(0.0, square - mean * mean) * count / (count - 1)) ** 0.5) if count > 1 else 0.0


def _odd(
    connection: Connection, simulated: bool, kinds: tuple[Kind, ...], away: float, most: int
) -> tuple[tuple[Odd, ...], int]:
    """Only kinds whose least or most is so far off are looked into."""
    own = part_figure.c
    found: list[Odd] = []
    count = 0
    for kind in kinds:
        high, low = kind.mean + away * kind.sd, kind.mean - away * kind.sd
        ends = (
            (kind.most > high, own.last > high, own.last.desc()),
            (kind.least < low, own.last < low, own.last.asc()),
        )
        for there, beyond, farthest in ends:
            if not there or not kind.sd:
                continue
            query = select(own.part, own.last, own.last_u, func.count().over()).where(
                own.simulated == simulated, own.rating == kind.rating, own.id == kind.id, beyond
            )
            rows = connection.execute(query.order_by(farthest, own.part).limit(most)).all()
            found += [Odd(part, last, u, (last - kind.mean) / kind.sd, kind) for part, last, u, _ in rows]
            count += rows[0][3] if rows else 0
    return tuple(nlargest(most, found, key=lambda one: abs(one.score))), count
