"""A store that is open: its place and its engine, and how every kind of record reads and writes through them."""

import zlib
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, event

from pulldrop.store.database.place import StorePlace
from pulldrop.store.database.uninterrupted import uninterrupted
from pulldrop.store.errors import damaged, explained


class Connected:
    """What the parts of a store stand on. Every method of theirs may raise StoreTrouble."""

    def __init__(self, place: StorePlace, engine: Engine) -> None:
        self.place, self.engine, self.wrote = place, engine, False
        event.listen(engine, "commit", self._committed)

    def _committed(self, connection: Connection) -> None:
        self.wrote |= bool(connection.get_execution_options().get("write"))

    @property
    def name(self) -> str:
        """Its address as a person may see it."""
        return self.place.name

    @property
    def file(self) -> Path | None:
        """Its file; None for a store in memory or on a server."""
        return self.place.file

    def writing(self) -> AbstractContextManager[Connection]:
        """A short transaction that writes, and that Ctrl-C does not cut."""
        return uninterrupted(self.name, self.engine)

    @contextmanager
    def reading(self, what: str) -> Iterator[Connection]:
        """A connection to read from; `what` is named in the sentence when it turns out damaged."""
        with explained(self.name), self.engine.connect() as connection:
            try:
                yield connection
            except (ValueError, TypeError, KeyError, zlib.error) as error:  # something that no run of ours has
                raise damaged(self.name, what, error) from error
