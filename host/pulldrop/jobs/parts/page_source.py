"""What the pages ask of the store: read only, and every trouble as a sentence."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from pulldrop.jobs.parts import fleet, health, records
from pulldrop.jobs.parts import keep as parts
from pulldrop.model.history.fleet import Fleet
from pulldrop.model.history.history import Health
from pulldrop.model.part.parts_page import NotThere, PartsPage, Unreadable
from pulldrop.model.run.record import RunRecord
from pulldrop.report import data
from pulldrop.store import NotKept, Store, StoreError
from pulldrop.store.views.overview import FOUND_MOST

A_PAGE = 50
"""Parts of one page of the list."""


class StoreSource:
    """One store. Every method may raise NotThere and Unreadable; none writes."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def listed(self, asked: str, page: int) -> PartsPage:
        """A page of the whole list, those tested last first; or what is found for a text, an id or a scanned label."""
        with self._errors_as_sentences():
            return self._found(asked) if asked else self._page(page)

    def _page(self, page: int) -> PartsPage:
        ids, count = self._store.page_of((page - 1) * A_PAGE, A_PAGE)
        pages = max(1, -(-count // A_PAGE))
        if page > pages:
            raise NotThere(f"The list of parts has {pages} pages; there is no page {page}.")
        found = parts.numbered(self._store, (parts.view(self._store, self._store.part(id)) for id in ids))
        return PartsPage(asked="", parts=found, page=page, pages=pages, count=count)

    def _found(self, asked: str) -> PartsPage:
        known = parts.find_id(self._store, asked)
        found = parts.by_id(self._store, asked, known) if known else parts.by_words(self._store, asked)
        if not found:
            raise self._missing(asked)
        more = len(found) >= FOUND_MOST
        found = parts.numbered(self._store, found)
        return PartsPage(asked=asked, parts=found, count=len(found), meant=known or "", more=more)

    def _missing(self, text: str) -> NotThere:
        near = parts.probably(self._store, text)
        return NotThere(parts.unknown(text, near), near)

    def health(self, id: str) -> Health:
        """Health of a part; only its card if it was never tested."""
        with self._errors_as_sentences():
            known = parts.find_id(self._store, id)
            if known is None:
                raise self._missing(id)
            one = parts.view(self._store, self._store.part(known))
            now = datetime.now(UTC)
            if one.last is not None:
                return health.of_part(self._store, one, now)
            return health.untested(one, self._store.part_events(known), now)

    def photos(self, names: Sequence[str]) -> frozenset[str]:
        """The names in `names` that exist in the photo folder."""
        with self._errors_as_sentences():
            folder = self._store.photos if names else Path()
            return frozenset(name for name in names if (folder / name).is_file())

    def photo(self, name: str) -> bytes:
        """The content of a photo."""
        with self._errors_as_sentences():
            return self._store.photo(name).read_bytes()

    def record(self, run: str) -> RunRecord:
        """One whole run."""
        with self._errors_as_sentences():
            return records.run(self._store, run)

    def file(self, id: str, end: str) -> bytes:
        """The history of a part as a file: .pdf to read, .csv or .json for other programs."""
        with self._errors_as_sentences():
            runs = records.of_part(self._store, id)
            if end == ".pdf":
                from pulldrop.report.paper.history import history  # fpdf2 takes a quarter of a second to load

                told = self.health(id)
                return history(told, runs, parts.photos(self._store, told.events))
            with TemporaryDirectory() as folder:
                file = Path(folder, f"history{end}")
                data.write(file, runs)
                return file.read_bytes()

    def fleet(self, every_months: float) -> Fleet:
        """All tested parts together."""
        with self._errors_as_sentences():
            return fleet.fleet(self._store, every_months, datetime.now(UTC))

    def mark(self) -> str:
        """Differs as soon as anything more is kept."""
        with self._errors_as_sentences():
            return self._store.head()

    @contextmanager
    def _errors_as_sentences(self) -> Iterator[None]:
        """The store's complaints, as the page knows them: nobody who looks on needs to know where the store lies."""
        try:
            yield
        except NotKept as missing:
            raise NotThere(missing.at("")) from missing
        except StoreError as trouble:
            raise Unreadable(trouble.at("")) from trouble
        except OSError as trouble:
            raise Unreadable(f"A file beside the store cannot be read ({trouble.strerror}).") from trouble
