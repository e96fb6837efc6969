"""The store as the rest of pulldrop sees it: open it, keep a run, read back."""

import zlib
from collections.abc import Collection, Iterator, Sequence, Set
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Self

from sqlalchemy import Connection, Engine

from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import CalibrationRecord, Golden
from pulldrop.model.crate.crate import CrateEvent, CrateHead
from pulldrop.model.part.event import PartEvent
from pulldrop.model.run.judgement import Judgement
from pulldrop.model.run.record import Part, RunRecord
from pulldrop.store.admin.verify import Progress, Verified, verify
from pulldrop.store.admin.version import connect, newest
from pulldrop.store.database import chain
from pulldrop.store.database.place import StorePlace, locate, photo_folder
from pulldrop.store.database.uninterrupted import ctrl_c_behind, uninterrupted
from pulldrop.store.errors import StoreTrouble, damaged, explained
from pulldrop.store.records import calibrations, crates, judgements, part_events, read
from pulldrop.store.records.crates import Entry
from pulldrop.store.records.parts import keep_part
from pulldrop.store.records.read import PartLine, RunLine
from pulldrop.store.records.rows import RunHeader
from pulldrop.store.records.write import OpenRun
from pulldrop.store.sums import summary
from pulldrop.store.views import fleet_sums, ids, overview
from pulldrop.store.views.fleet_sums import FleetSums
from pulldrop.store.views.overview import History, Info, Point


class Store:
    """One history. Every method may raise StoreTrouble. Use as a context manager, or call `close`."""

    def __init__(self, place: StorePlace, engine: Engine) -> None:
        self.place, self.engine = place, engine

    @property
    def name(self) -> str:
        """Its address as a person may see it."""
        return self.place.name

    @property
    def file(self) -> Path | None:
        """Its file; None for a store in memory or on a server."""
        return self.place.file

    @classmethod
    def open(cls, where: str | None = None) -> Self:
        """`where`: None for the platform's data folder, a path, a URL of SQLite or PostgreSQL, or ":memory:"."""
        place = locate(where)
        return cls(place, connect(place))

    def run(self, header: RunHeader) -> OpenRun:
        """Begin a run: `with store.run(header) as run: run.add(judged); run.finish(verdict, ended, bench_s)`."""
        return OpenRun(self.place, self.engine, header)

    def record(self, run_id: str) -> RunRecord:
        """One whole run. Raises NotKept."""
        with self._reading(f"run {run_id}") as connection:
            return read.record(connection, self.name, run_id)

    def parts(self) -> tuple[PartLine, ...]:
        """Every part that was ever tested, by its id."""
        with self._reading("the list of parts") as connection:
            return read.parts(connection)

    def part_ids(self) -> tuple[str, ...]:
        """The ids of all parts, in order; much quicker than the parts themselves."""
        with self._reading("the ids of parts") as connection:
            return ids.every(connection)

    def spelt(self, capitals: Collection[str]) -> tuple[str, ...]:
        """The ids that are one of these texts in capitals, in order; quick also where there are very many."""
        with self._reading("the ids of parts") as connection:
            return ids.spelt(connection, capitals)

    def page_of(self, skip: int, most: int) -> tuple[tuple[str, ...], int]:
        """Ids of some parts, those tested last first, and how many parts there are in all."""
        with self._reading("the list of parts") as connection:
            return ids.page_of(connection, skip, most)

    def told_of(self, words: Sequence[str]) -> frozenset[str]:
        """Ids of parts with events that may contain all these words; read the events to be sure."""
        with self._reading("what happened to parts") as connection:
            return frozenset.intersection(*(ids.told_of(connection, word) for word in words))

    def part(self, part_id: str) -> PartLine:
        """One part. Raises NotKept."""
        with self._reading(f"part {part_id}") as connection:
            return read.part(connection, self.name, part_id)

    def runs(self, part_id: str) -> tuple[RunLine, ...]:
        """The runs of one part, the oldest first. Raises NotKept."""
        with self._reading(f"part {part_id}") as connection:
            return read.runs(connection, self.name, part_id)

    def energised_since(self, board: Identity, since: datetime) -> bool:
        """Whether a run of this board, begun at `since` or later, has read what needs the coil supply."""
        with self._reading("today's runs") as connection:
            return read.energised_since(connection, board, since)

    def add_judgement(self, judgement: Judgement) -> None:
        """Keep a later judgement of a run. Raises NotKept when there is no such run."""
        with uninterrupted(self.name, self.engine) as connection:
            judgements.add(connection, self.name, judgement)

    def judgements(self, run_id: str) -> tuple[Judgement, ...]:
        """The later judgements of a run, the oldest first."""
        with self._reading(f"run {run_id}") as connection:
            return judgements.of_run(connection, run_id)

    def new_part(self, part: Part, simulated: bool) -> Part:
        """Keep a part before its first test; without an id it gets the next free one. Raises PartRefused."""
        with uninterrupted(self.name, self.engine) as connection:
            return keep_part(connection, part, simulated)

    def part_event(self, event: PartEvent) -> PartEvent:
        """Keep what happened to a part, and give it with its id. Raises NotKept."""
        with uninterrupted(self.name, self.engine) as connection:
            return part_events.append(connection, self.name, event, datetime.now(UTC))

    def part_events(self, part_id: str | None = None) -> tuple[PartEvent, ...]:
        """What happened to one part, or to all, in the order in which it happened; without what was withdrawn."""
        with self._reading("what happened to parts") as connection:
            return part_events.of(connection, None if part_id is None else {part_id})

    def events_ever(self, part_id: str) -> tuple[PartEvent, ...]:
        """Every event of one part, withdrawn ones and the withdrawals too."""
        with self._reading("what happened to parts") as connection:
            return part_events.ever(connection, {part_id})

    def events_of(self, part_ids: Set[str]) -> tuple[PartEvent, ...]:
        """What happened to these parts, in the order in which it happened."""
        with self._reading("what happened to parts") as connection:
            return part_events.of(connection, part_ids)

    def names(self) -> tuple[PartEvent, ...]:
        """The events that name ids which parts have in other stores."""
        with self._reading("ids of other stores") as connection:
            return part_events.names(connection)

    @property
    def photos(self) -> Path:
        """The folder in which photos lie: beside the store's file, of a server's in this computer's data folder."""
        folder = photo_folder(self.place)
        if folder is None:
            raise StoreTrouble(f"The store {self.name} has no folder for photos. Name a file with --store.")
        return folder

    def keep_photo(self, file: Path) -> str:
        """Copy a photo beside the store; gives its name there, which is the hash of its content."""
        return part_events.keep_photo(self.photos, file)

    def photo(self, name: str) -> Path:
        """A kept photo. Raises NotKept, and StoreTrouble when its content was changed."""
        return part_events.photo(self.photos, name)

    def add_calibration(self, record: CalibrationRecord) -> None:
        """Keep one calibration; those before it stay."""
        with uninterrupted(self.name, self.engine) as connection:
            calibrations.add(connection, record)

    def calibrations(self) -> tuple[CalibrationRecord, ...]:
        """All of them, the oldest first."""
        with self._reading("the list of calibrations") as connection:
            return calibrations.all_of(connection)

    def newest_calibration(self, board: Identity) -> CalibrationRecord | None:
        """The one that holds for this board: of its own kind and serial number, never of another."""
        with self._reading(f"calibration of board {board.serial}") as connection:
            return calibrations.newest(connection, board)

    def mark_golden(self, golden: Golden) -> None:
        """Keep that a part is one by which the bench is checked."""
        with uninterrupted(self.name, self.engine) as connection:
            calibrations.mark(connection, golden)

    def golden(self, part_id: str) -> Golden | None:
        """What a part was last marked with; None for an ordinary part."""
        with self._reading(f"part {part_id}") as connection:
            return calibrations.golden(connection, part_id)

    def goldens(self) -> tuple[str, ...]:
        """Ids of all golden parts, the last marked first."""
        with self._reading("the list of golden parts") as connection:
            return crates.goldens(connection)

    def crate(self, name: str, simulated: bool, now: datetime) -> tuple[CrateHead, tuple[CrateEvent, ...]]:
        """The crate of this name, begun when it is new, and all that happened to it. Raises CrateRefused."""
        with uninterrupted(self.name, self.engine) as connection:
            return crates.begin(connection, name, simulated, now), crates.events(connection, name)

    def all_crates(self) -> tuple[CrateHead, ...]:
        """Every crate, by its name."""
        with self._reading("the list of crates") as connection:
            return crates.heads(connection)

    def crate_events(self, name: str) -> tuple[CrateEvent, ...]:
        """All that happened to a crate, to look at."""
        with self._reading(f"the crate {name}") as connection:
            return crates.events(connection, name)

    def crate_event(self, entry: Entry) -> None:
        """Keep one thing that happened to a crate. Raises CrateRefused when another program was quicker."""
        with uninterrupted(self.name, self.engine) as connection:
            crates.append(connection, entry)

    def values(self, runs: Sequence[str]) -> dict[str, dict[str, tuple[float, float]]]:
        """By run and measurement: value and expanded uncertainty of all that have a plain number."""
        with self._reading("values of runs") as connection:
            return crates.values(connection, runs)

    def history(self, part_id: str) -> History:
        """Everything that was measured on one part. Raises NotKept."""
        with self._reading(f"part {part_id}") as connection:
            return overview.history(connection, self.name, part_id)

    def newest_points(self, simulated: bool) -> dict[str, tuple[Point, ...]]:
        """By part: what its last run measured; of all real parts, or of all simulated ones."""
        with self._reading("the last runs") as connection:
            return overview.newest_points(connection, simulated)

    def foretold(self, simulated: bool, least: int) -> frozenset[str]:
        """Parts with a straight line, through at least so many readings of one figure, that meets a limit."""
        with self._reading("the working sums") as connection:
            return overview.foretold(connection, simulated, least)

    def search(self, text: str) -> tuple[PartLine, ...]:
        """Parts by words of their id, label, donor or notes; the newest first, at most overview.FOUND_MOST."""
        with self._reading("the words of parts") as connection:
            return overview.search(connection, text)

    def tested_counts(self) -> dict[bool, int]:
        """How many parts were tested: simulated ones, and real ones."""
        with self._reading("the list of parts") as connection:
            return fleet_sums.tested_counts(connection)

    def tested(self, simulated: bool, ids: Set[str] | None = None) -> tuple[PartLine, ...]:
        """The tested parts that are real, or that are simulated, or those of these ids among them, by their id."""
        with self._reading("the list of parts") as connection:
            return fleet_sums.tested(connection, simulated, ids)

    def fleet_sums(self, simulated: bool, old: datetime, least: int, away: float, most: int) -> FleetSums:
        """What the working sums know of all real parts together, or of all simulated ones, see `fleet_sums.py`."""
        with self._reading("the working sums") as connection:
            return fleet_sums.fleet_sums(connection, simulated, old, least, away, most)

    def head(self) -> str:
        """The last entry of the chain, such as 1042:7f3a91c2d4e5f607; noted elsewhere, it guards the end."""
        with self._reading("the chain") as connection:
            return str(chain.head(connection))

    def info(self) -> Info:
        """What kind of store this is, and how much it holds."""
        with self._reading("its size") as connection:
            return overview.info(connection, self.name, newest())

    def verify(self, noted: str = "", progress: Progress = lambda done, total: None) -> Verified:
        """Hold every row against the chain, see `verify.py`. `noted` is a head from before."""
        with self._reading("the chain") as connection:
            return verify(connection, noted, progress)

    def remake(self) -> None:
        """Make the working sums anew from the records."""
        with uninterrupted(self.name, self.engine) as connection:
            summary.remake(connection)

    def close(self) -> None:
        """Let go of the file."""
        with ctrl_c_behind():
            self.engine.dispose()

    @contextmanager
    def _reading(self, what: str) -> Iterator[Connection]:
        with explained(self.name), self.engine.connect() as connection:
            try:
                yield connection
            except (ValueError, TypeError, KeyError, zlib.error) as error:  # something that no run of ours has
                raise damaged(self.name, what, error) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
