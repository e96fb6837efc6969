"""The store as the rest of pulldrop sees it: open it, keep a run, read back.

Rule: what it does with one kind of record is a class beside that kind's rows; together they are the store.
"""

from dataclasses import replace
from datetime import datetime
from typing import Self

from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.part import Part
from pulldrop.model.part.parts_page import RunLine
from pulldrop.model.run.record import RunRecord
from pulldrop.store.admin.verify import Progress, Verified, verify
from pulldrop.store.admin.version import connect, newest
from pulldrop.store.database import chain, heads
from pulldrop.store.database.place import locate, photo_folder
from pulldrop.store.database.uninterrupted import ctrl_c_behind
from pulldrop.store.records import read
from pulldrop.store.records.calibrations import Calibrations
from pulldrop.store.records.crates import Crates
from pulldrop.store.records.judgements import Judgements
from pulldrop.store.records.part_events import PartEvents
from pulldrop.store.records.parts import keep_part
from pulldrop.store.records.read import PartLine
from pulldrop.store.records.rows import RunHeader
from pulldrop.store.records.write import OpenRun
from pulldrop.store.sums import summary
from pulldrop.store.views import overview
from pulldrop.store.views.fleet_sums import FleetView
from pulldrop.store.views.ids import PartIds
from pulldrop.store.views.overview import Info, Overview
from pulldrop.store.views.siblings import Siblings


class Store(Calibrations, Crates, Judgements, PartEvents, PartIds, Overview, FleetView, Siblings):
    """One history. Every method may raise StoreTrouble. Use as a context manager, or call `close`."""

    @classmethod
    def open(cls, where: str | None = None) -> Self:
        """`where`: None for the platform's data folder, a path, a URL of SQLite or PostgreSQL, or ":memory:"."""
        place = locate(where)
        return cls(place, connect(place))

    @classmethod
    def existing(cls, where: str | None = None) -> Self:
        """The same where there is one already. Raises NoStore."""
        cls.look(where).close()
        return cls.open(where)

    @classmethod
    def look(cls, where: str | None = None) -> Self:
        """The same to read from only: nothing is made there, nor written. Raises NoStore where there is none."""
        place = locate(where, make=False)
        return cls(place, connect(place, make=False))

    def run(self, header: RunHeader) -> OpenRun:
        """Begin a run: `with store.run(header) as run: run.add(judged); run.finish(verdict, ended, bench_s)`."""
        return OpenRun(self.place, self.engine, header)

    def record(self, run_id: str) -> RunRecord:
        """One whole run. Raises NotKept."""
        with self.reading(f"run {run_id}") as connection:
            return read.record(connection, self.name, run_id)

    def parts(self) -> tuple[PartLine, ...]:
        """Every part that was ever tested, by its id."""
        with self.reading("the list of parts") as connection:
            return read.parts(connection)

    def part(self, part_id: str) -> PartLine:
        """One part. Raises NotKept."""
        with self.reading(f"part {part_id}") as connection:
            return read.part(connection, self.name, part_id)

    def runs(self, part_id: str) -> tuple[RunLine, ...]:
        """The runs of one part, the oldest first. Raises NotKept."""
        with self.reading(f"part {part_id}") as connection:
            return read.runs(connection, self.name, part_id)

    def energised_since(self, board: Identity, since: datetime) -> bool:
        """Whether a run of this board, begun at `since` or later, has read what needs the coil supply."""
        with self.reading("today's runs") as connection:
            return read.energised_since(connection, board, since)

    def new_part(self, part: Part, simulated: bool) -> Part:
        """Keep a part before its first test; without an id it gets the next free one. Raises PartRefused."""
        with self.writing() as connection:
            return keep_part(connection, part, simulated)

    def head(self) -> str:
        """The last entry of the chain, such as 1042:7f3a91c2d4e5f607; noted elsewhere, it guards the end."""
        with self.reading("the chain") as connection:
            return str(chain.head(connection))

    def info(self) -> Info:
        """What kind of store this is, and how much it holds."""
        with self.reading("its size") as connection:
            return overview.info(connection, self.name, newest())

    def verify(self, noted: str = "", progress: Progress = lambda done, total: None) -> Verified:
        """Hold every row against the chain, see `verify.py`. `noted` is a head from before."""
        with self.reading("the chain") as connection:
            photos = photo_folder(self.place)
            if photos and self.place.on_server and not photos.is_dir():
                photos = None  # they lie on whichever computer kept them
            found = verify(connection, [noted] if noted else [], progress, photos)
            noted_in, missing = heads.missing(connection, self.place)
        where = (*found.where, *(() for _ in missing))
        return replace(found, findings=(*found.findings, *missing), where=where, noted_in=noted_in)

    def note_head(self) -> None:
        """Note the head as it is now, in place of what was noted here before, by a person's word."""
        heads.note(self.place, self.head())

    def remake(self) -> None:
        """Rebuild the working sums from the records."""
        with self.writing() as connection:
            summary.remake(connection)

    def close(self) -> None:
        """Let go of the file; what was written is noted by the chain's head in a second place."""
        with ctrl_c_behind():
            if self.wrote:
                heads.follow(self.engine, self.place)
            self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
