"""A store with a few parts of an invented depot, for the tests of the pages that show what is kept."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import records
from PIL import Image

from pulldrop.jobs.parts.keep import describe
from pulldrop.model.crate.crate import Bin, CrateEvent, Happened, Placed
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.store import Entry, Store
from pulldrop.store.records.write import RunHeader

FIRST = datetime(2023, 5, 4, 9, 30, tzinfo=UTC)
WEARING, SOUND, UNTESTED, REAL = "23Y", "24W", "25T", "26P"
CRATE = "shed 4"
HOSTILE = "<script>alert(1)</script>"
CARD = Card(
    description="mini 12 V changeover", printed="BD 12V 40/30A", sheet="class-mini-12v-form-c", donor="town bus 12",
    position="saloon lights", notes=f"invented {HOSTILE}",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Depot:
    """Where the store is, the name of the one photo in it, and the runs of each part, the oldest first."""

    where: str
    photo: str = ""
    runs: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def fill(where: str, folder: Path, real: bool = True) -> Depot:
    """A wearing part with eight runs, a sound one with two, one never tested, a real one; a crate of the first."""
    with Store.open(where) as store:
        for number in range(8):
            _keep(store, _run(WEARING, number, 0.02))
        for number in range(2):
            _keep(store, _run(SOUND, number, 0.0))
        if real:
            _keep(store, _run(REAL, 0, 0.0, kind="real"))
        store.new_part(Relay(id=UNTESTED, form="C", donor="bus 3"), simulated=True)
        other = CARD.model_copy(update={"donor": "town bus 31", "position": "demister fan"})
        for id, card in ((WEARING, CARD), (SOUND, other)):
            describe(store, store.part(id).part, card, simulated=True, at=FIRST)
        _happened(store, PartEventKind.FITTED, "after its first test (invented)", "town bus 12, saloon lights")
        _happened(store, PartEventKind.NOTE, "hums a little")
        photo = _photo(store, folder)
        runs = {id: tuple(line.run for line in store.runs(id)) for id in store.part_ids()}
        _crate(store, runs[WEARING][-1])
    return Depot(where, photo, runs)


def _run(part: str, number: int, worse_v: float, kind: str = "virtual") -> RunRecord:
    """Half a year later each, its NO contact so much worse."""
    record = records.record(kind=kind, calibrated=True, part=part)
    judged = []
    for one in record.judged:
        found = one.finding
        if one.id == "contact_drop_no" and isinstance(found, Reading):
            found = found.model_copy(update={"value": 0.04 + worse_v * number})
        judged.append(one.model_copy(update={"finding": found}))
    at = FIRST + timedelta(days=160 * number)
    return record.model_copy(update={"started": at, "ended": at, "judged": tuple(judged)})


def _keep(store: Store, record: RunRecord) -> None:
    header = RunHeader(**{name: getattr(record, name) for name in RunHeader.model_fields})
    with store.run(header) as open_run:
        for judged in record.judged:
            open_run.add(judged)
        open_run.finish(record.verdict, record.started, record.bench_s)


def _happened(store: Store, kind: PartEventKind, text: str, place: str = "") -> None:
    at = FIRST + timedelta(days=1)
    store.part_event(PartEvent(part=WEARING, at=at, kind=kind, text=text, place=place, operator="invented"))


def _photo(store: Store, folder: Path) -> str:
    picture = folder / "case.png"
    Image.new("RGB", (40, 30), "grey").save(picture)
    name = store.keep_photo(picture)
    at = FIRST + timedelta(days=2)
    store.part_event(PartEvent(part=WEARING, at=at, kind=PartEventKind.PHOTO, photo=name, text="chipped corner"))
    return name


def _crate(store: Store, run: str) -> None:
    store.crate(CRATE, True, FIRST)
    placed = Placed(number=1, part=WEARING, run=run, bin=Bin.KEEP, reasons=(), figures=(), at=FIRST)
    store.crate_event(Entry(CRATE, 1, CrateEvent(kind=Happened.PLACED, at=FIRST, number=1, placed=placed)))
