"""Which parts there are, by their ids alone: quick also where there are very many."""

from collections.abc import Collection

from sqlalchemy import Connection, func, select

from pulldrop.store.sums import part_now
from pulldrop.store.tables import part_event


def every(connection: Connection) -> tuple[str, ...]:
    """All ids, in order."""
    return tuple(connection.execute(select(part_now.c.id).order_by(part_now.c.id)).scalars().all())


def spelt(connection: Connection, capitals: Collection[str]) -> tuple[str, ...]:
    """The ids that are one of these texts in capitals, in order."""
    own = part_now.c.id
    return tuple(connection.execute(select(own).where(func.upper(own).in_(capitals)).order_by(own)).scalars())


def leaf(connection: Connection, skip: int, most: int) -> tuple[tuple[str, ...], int]:
    """Some ids, those tested last first, and how many parts there are in all."""
    own = part_now.c
    query = select(own.id).order_by(own.started.desc(), own.id).offset(skip).limit(most)
    count = connection.execute(select(func.count()).select_from(part_now)).scalar_one()
    return tuple(connection.execute(query).scalars()), count


def told_of(connection: Connection, word: str) -> frozenset[str]:
    """Parts of which an event may say the word: a first sieve, which is blind to capitals and to signs."""
    plain = max("".join(c if c.isascii() and c.isalnum() else " " for c in word).split(), key=len, default="")
    query = select(part_event.c.part).where(part_event.c.body.icontains(plain, autoescape=True)).distinct()
    return frozenset(connection.execute(query).scalars().all())
