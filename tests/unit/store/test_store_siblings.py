"""A part's siblings in the store: other parts of its rating by the same test, of which nothing was named."""

from collections.abc import Iterator
from pathlib import Path

import pytest
import records
from test_store import keep

from pulldrop.judge.diagnosis import READ_OF_SIBLINGS
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.store import Store
from pulldrop.store.exchange import files


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as made:
        yield made


def sound(id: str) -> RunRecord:
    return records.record().model_copy(update={"part": Relay(id=id, form="C"), "faults": ()})


def siblings(store: Store) -> int:
    return len(store.of_rating(records.plan(), records.record().simulated, READ_OF_SIBLINGS))


def test_siblings_are_the_parts_of_a_rating_by_the_same_protocol(store: Store) -> None:
    for id in ("4K7RT", "9M2PX"):
        keep(store, sound(id))
    other = records.plan().model_copy(update={"version": 4})
    assert siblings(store) == 2
    assert store.of_rating(other, records.record().simulated, READ_OF_SIBLINGS) == ()
    assert store.of_rating(records.plan(), not records.record().simulated, READ_OF_SIBLINGS) == ()


def test_a_part_with_a_named_fault_is_no_sibling(store: Store) -> None:
    keep(store, sound("4K7RT"))
    named = sound("9M2PX").model_copy(update={"faults": (records.FAULT,)})
    keep(store, named)
    assert siblings(store) == 1


def test_readings_of_siblings_are_those_that_were_kept(store: Store) -> None:
    kept = keep(store, sound("4K7RT"))
    (sibling,) = store.of_parts(records.plan(), kept.simulated, ["4K7RT"], READ_OF_SIBLINGS)
    assert (sibling.bench, sibling.tested) == (f"{kept.board.kind} {kept.board.serial}", kept.started.date())
    own = {one.id: one.finding for one in kept.judged}
    for one in sibling.found:
        assert isinstance(one, Reading)
        was = own[one.id]
        assert isinstance(was, Reading)
        assert (one.value, one.bound, one.state) == (was.value, was.bound, was.state)
        assert one.expanded_uncertainty == pytest.approx(was.expanded_uncertainty)
    assert {one.id for one in sibling.found} == set(READ_OF_SIBLINGS) & own.keys()


def test_a_part_from_outside_is_no_sibling_until_a_head_vouches_for_its_run(store: Store, tmp_path: Path) -> None:
    where = str(tmp_path / "cabin.db")
    with Store.open(where) as cabin:
        keep(cabin, sound("4K7RT"))
        head = cabin.head()
    files.import_from(store, where)
    assert siblings(store) == 0
    files.import_from(store, where, files.Asked(head=head))
    assert siblings(store) == 1
