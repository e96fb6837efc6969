"""Which parts there are, by their ids alone: quick also where there are very many."""

from collections.abc import Collection, Sequence

from sqlalchemy import Connection, func, select, union_all

from pulldrop.store.database.connected import Connected
from pulldrop.store.database.tables import part_event
from pulldrop.store.sums import joined
from pulldrop.store.sums.tables import part_alias, part_now


class PartIds(Connected):
    """The ids of parts."""

    def part_ids(self) -> tuple[str, ...]:
        """The ids of all parts, in order; much quicker than the parts themselves."""
        with self.reading("the ids of parts") as connection:
            own = connection.execute(select(part_now.c.id).order_by(part_now.c.id)).scalars()
            return tuple(sorted((*own, *connection.execute(select(part_alias.c.id)).scalars())))

    def spelt(self, capitals: Collection[str]) -> tuple[str, ...]:
        """The ids that are one of these texts in capitals, in order; quick also where there are very many."""
        with self.reading("the ids of parts") as connection:
            found = (select(own).where(func.upper(own).in_(capitals)) for own in (part_now.c.id, part_alias.c.id))
            return tuple(sorted(connection.execute(union_all(*found)).scalars()))

    def page_of(self, skip: int, most: int) -> tuple[tuple[str, ...], int]:
        """Ids of some parts, those tested last first, and how many parts there are in all."""
        with self.reading("the list of parts") as connection:
            own = part_now.c
            query = select(own.id).order_by(own.started.desc(), own.id).offset(skip).limit(most)
            count = connection.execute(select(func.count()).select_from(part_now)).scalar_one()
            return tuple(connection.execute(query).scalars()), count

    def told_of(self, words: Sequence[str]) -> frozenset[str]:
        """Ids of parts with events that may contain all these words; read the events to be sure."""
        with self.reading("what happened to parts") as connection:
            return frozenset.intersection(*(_told_of(connection, word) for word in words))


def _told_of(connection: Connection, word: str) -> frozenset[str]:
    """Parts with an event that may contain the word: a first sieve, blind to capitals and signs."""
    plain = max("".join(c if c.isascii() and c.isalnum() else " " for c in word).split(), key=len, default="")
    query = select(part_event.c.part).where(part_event.c.body.icontains(plain, autoescape=True)).distinct()
    aliases = joined.aliases(connection)
    return frozenset(aliases.get(id, id) for id in connection.execute(query).scalars())
