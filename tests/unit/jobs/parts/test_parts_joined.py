"""Statements about two parts that a person said are one: one history under one id, in every view and after an import,
and as two again when that is withdrawn; no row is moved.
"""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import databases
import pytest
import records
from test_store import keep

from pulldrop.jobs.parts import keep as parts
from pulldrop.jobs.parts.fleet import fleet
from pulldrop.jobs.parts.health import health
from pulldrop.model.bench.kit import Golden
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.store import NotKept, PartRefused, Store
from pulldrop.store.exchange import files

BEGAN = records.STARTED - timedelta(days=1000)
OLD, NEW = "23Y", "24X"


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return databases.new(request.param, tmp_path)


@pytest.fixture(params=databases.BACKENDS)
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """A part that was tested three times under its own id, and twice more as a new one, because its label was lost."""
    with Store.open(databases.filled(request.param, tmp_path, fill)[0]) as opened:
        yield opened


def fill(store: Store) -> None:
    for days in (0, 180, 360):
        measured(store, OLD, "horn", days)
    for days in (540, 720):
        measured(store, NEW, "unknown", days)
    store.part_event(event(NEW, PartEventKind.MOVED, 700, place="shelf 3"))


def measured(store: Store, id: str, label: str, days: int, form: str = "C", kind: str = "virtual") -> RunRecord:
    part = Relay(id=id, form=form, label=label)  # type: ignore[arg-type]  # A or C
    at = BEGAN + timedelta(days=days)
    return keep(store, records.record(kind=kind).model_copy(update={"part": part, "started": at}))


def event(part: str, kind: PartEventKind, days: int, **more: str) -> PartEvent:
    return PartEvent(part=part, at=BEGAN + timedelta(days=days), kind=kind, **more)  # type: ignore[arg-type]


def is_whole(store: Store) -> bool:
    """Every row as it was written, and the working sums what the records give, also when made again."""
    before = (store.verify().findings, store.parts(), store.search("horn"), store.search("unknown"))
    store.remake()
    return before[0] == () and before[1:] == (store.parts(), store.search("horn"), store.search("unknown"))


def runs_of(store: Store) -> dict[str, int]:
    return {line.part.id: line.runs for line in store.parts()}


def test_joined_parts_have_one_history_under_the_id_that_stays(store: Store) -> None:
    filed = {run.run: store.record(run.run) for run in (*store.runs(OLD), *store.runs(NEW))}
    assert parts.join(store, NEW, OLD) == (NEW, OLD)
    assert runs_of(store) == {OLD: 5}
    assert [run.run for run in store.runs(OLD)] == list(filed)
    assert store.runs(NEW) == store.runs(OLD) and store.history(NEW) == store.history(OLD)
    assert len({point.run for point in store.history(OLD).points}) == 5
    one = parts.view(store, store.part(OLD))
    assert one.part.label == "horn" and one.also == (NEW,) and one.place == "shelf 3"
    assert one.last is not None and one.last.started == BEGAN + timedelta(days=720)
    assert {run: store.record(run) for run in filed} == filed, "a certificate says what it said"
    now = BEGAN + timedelta(days=730)
    assert [health(store, name, now).part for name in (OLD, NEW)] == [OLD, OLD]
    assert len(health(store, NEW, now).runs) == 5
    assert fleet(store, 12, now).parts == 1
    assert is_whole(store)


@pytest.mark.parametrize("text", [OLD, NEW, NEW.lower(), f"part:{NEW}", "horn", "unknown", "shelf 3"])
def test_a_joined_part_is_found_by_all_that_was_known_of_both(store: Store, text: str) -> None:
    parts.join(store, NEW, OLD)
    assert [one.part.id for one in parts.find(store, text)] == [OLD]
    assert NEW in store.part_ids() and parts.for_run(store, NEW) == OLD
    with pytest.raises(NotKept, match="There is a part"):
        parts.new(store, Relay(id=NEW, form="C"), Card())


def test_a_card_of_the_id_that_went_describes_the_part_no_more(store: Store) -> None:
    parts.describe(store, store.part(OLD).part, Card(description="mini", donor="bus 12"), simulated=True)
    parts.describe(store, store.part(NEW).part, Card(description="no idea"), simulated=True)
    parts.join(store, NEW, OLD)
    assert parts.view(store, store.part(OLD)).card == Card(description="mini", donor="bus 12")
    assert is_whole(store)


def test_a_run_that_is_still_kept_by_the_old_id_counts_for_the_part(store: Store) -> None:
    """As a crate does that was begun before."""
    parts.join(store, NEW, OLD)
    measured(store, NEW, "unknown", 800)
    assert runs_of(store) == {OLD: 6} and is_whole(store)


def test_a_golden_part_stays_golden(store: Store) -> None:
    store.mark_golden(Golden(part=NEW, run=store.runs(NEW)[0].run, marked=records.STARTED))
    parts.join(store, NEW, OLD)
    assert store.golden(OLD) == store.golden(NEW) and store.golden(OLD) is not None


def test_withdrawn_they_are_two_again(store: Store) -> None:
    before = store.parts()
    parts.join(store, NEW, OLD)
    (joined,) = (one for one in store.part_events(OLD) if one.kind is PartEventKind.JOINED)
    parts.withdraw(store, OLD, joined.id, "another dent")
    assert store.parts() == before and is_whole(store)
    assert [one.kind for one in store.part_events(OLD)] == []
    assert [one.kind for one in store.part_events(NEW)] == [PartEventKind.MOVED]
    parts.join(store, OLD, NEW)
    assert runs_of(store) == {NEW: 5} and is_whole(store)


def test_three_are_joined_one_after_the_other(store: Store) -> None:
    measured(store, "25W", "third", 900)
    parts.join(store, OLD, NEW)
    parts.join(store, OLD, "25W")
    assert runs_of(store) == {"25W": 6} and set(parts.view(store, store.part(OLD)).also) == {OLD, NEW}
    assert is_whole(store)


def test_what_cannot_be_one_is_not_joined(store: Store) -> None:
    measured(store, "closer", "horn", 0, form="A")
    measured(store, "real", "horn", 0, kind="real")
    for other, why in (("closer", "Form A"), ("nobody", "no part")):
        with pytest.raises(NotKept, match=why):
            parts.join(store, NEW, other)
    with pytest.raises(PartRefused, match="simulated"):
        parts.join(store, NEW, "real")
    parts.join(store, NEW, OLD)
    for one, other in ((NEW, OLD), (OLD, NEW), (OLD, OLD)):
        with pytest.raises(NotKept, match="one part already"):
            parts.join(store, one, other)
    assert runs_of(store) == {OLD: 5, "closer": 1, "real": 1} and is_whole(store)


def test_joined_parts_are_one_in_the_store_that_takes_them_in(where: str, tmp_path: Path) -> None:
    """Also where other parts have their ids already, and where they were taken in before."""
    source = str(tmp_path / "cabin.db")
    with Store.open(source) as cabin, Store.open(where) as depot:
        fill(cabin)
        measured(depot, OLD, "another", 0)
        assert not files.import_from(depot, source).refused
        two = runs_of(depot)
        parts.join(cabin, NEW, OLD)
        for _ in range(2):
            assert not files.import_from(depot, source, files.Asked(head=cabin.head())).refused
        assert sorted(two.values()) == [1, 2, 3] and sorted(runs_of(depot).values()) == [1, 5]
        (joined,) = (one for one in depot.parts() if one.runs == 5)
        assert joined.part.label == "horn" and joined.part.id != OLD
        assert depot.part(NEW).part.id == joined.part.id and is_whole(depot)


def test_two_benches_that_joined_them_either_way_round_agree(where: str, tmp_path: Path) -> None:
    source = str(tmp_path / "cabin.db")
    with Store.open(source) as cabin, Store.open(where) as depot:
        fill(cabin)
        files.import_from(depot, source)
        parts.join(cabin, OLD, NEW)
        parts.join(depot, NEW, OLD)
        files.import_from(depot, source, files.Asked(head=cabin.head()))
        assert runs_of(depot) == {NEW: 5} and is_whole(depot), "the first to say so counts"
