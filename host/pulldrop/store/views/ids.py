"""Which parts there are, by their ids alone: quick also where there are very many."""

from collections.abc import Collection

from sqlalchemy import Connection, func, select, union_all

from pulldrop.store.database.tables import part_event
from pulldrop.store.sums import joined
from pulldrop.store.sums.tables import part_alias, part_now


def every(connection: Connection) -> tuple[str, ...]:
    """All ids, in order; also those that were joined to another."""
    own = connection.execute(select(part_now.c.id).order_by(part_now.c.id)).scalars()
    return tuple(sorted((*own, *connection.execute(select(part_alias.c.id)).scalars())))


def spelt(connection: Connection, capitals: Collection[str]) -> tuple[str, ...]:
    """The ids that are one of these texts in capitals, in order."""
    found = (select(own).where(func.upper(own).in_(capitals)) for own in (part_now.c.id, part_alias.c.id))
    return tuple(sorted(connection.execute(union_all(*found)).scalars()))


def page_of(connection: Connection, skip: int, most: int) -> tuple[tuple[str, ...], int]:
    """Some ids, those tested last first, and how many parts there are in all."""
    own = part_now.c
    query = select(own.id).order_by(own.started.desc(), own.id).offset(skip).limit(most)
    count = connection.execute(select(func.count()).select_from(part_now)).scalar_one()
    return tuple(connection.execute(query).scalars()), count


def told_of(connection: Connection, word: str) -> frozenset[str]:
    """Parts with an event that may contain the word: a first sieve, blind to capitals and signs."""
    plain = max("".join(c if c.isascii() and c.isalnum() else " " for c in word).split(), key=len, default="")
    query = select(part_event.c.part).where(part_event.c.body.icontains(plain, autoescape=True)).distinct()
    aliases = joined.aliases(connection)
    return frozenset(aliases.get(id, id) for id in connection.execute(query).scalars())
