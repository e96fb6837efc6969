"""The number written on a part leads to it, as its id does; a number alone is asked about; scrap is never due."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from crates import BURNT, GOOD, Crate, parts

from pulldrop.jobs.parts import keep, numbers
from pulldrop.jobs.parts.fleet import fleet
from pulldrop.jobs.parts.fleet_lines import of_lines
from pulldrop.jobs.parts.health import health
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.model.crate.crate import Bin, CrateEvent, Happened
from pulldrop.store import Entry, NotKept, Store

LATER = datetime.now(UTC) + timedelta(days=800)


@pytest.fixture(scope="module")
def shed() -> Iterator[Store]:
    """The crate `shed 2`: number 1 kept, number 2 scrapped."""
    with Store.open(":memory:") as store:
        Crate(store, parts(GOOD, BURNT)).run()
        yield store


def id_of(store: Store, number: int) -> str:
    (found,) = numbers.alone(store, str(number)) or ()
    return found.placed.part


@pytest.mark.parametrize("written", ["shed 2 1", "Shed 2 #1", "crate shed 2, number 1", "shed 2/1", " shed 2  no. 1"])
def test_crate_and_number_find_the_same_part_as_its_id_does(shed: Store, written: str) -> None:
    id = id_of(shed, 1)
    assert keep.resolve(shed, written) == keep.resolve(shed, id) == id
    assert [one.part.id for one in keep.find(shed, written)] == [id]
    assert keep.for_run(shed, written) == id, "a test goes on under the id of that part"
    assert health(shed, written, LATER).part == id
    page = StoreSource(shed)
    assert page.listed(written, 1).meant == id and page.health(written).part == id


@pytest.mark.parametrize("written", ["1", "#1", "number 1"])
def test_a_number_alone_is_asked_about_and_never_a_new_part(shed: Store, written: str) -> None:
    for ask in (keep.resolve, keep.for_run):
        with pytest.raises(NotKept, match=f"Which part is meant: shed 2 1 .{id_of(shed, 1)}, keep.[?]"):
            ask(shed, written)
    assert [one.part.id for one in StoreSource(shed).listed(written, 1).parts] == [id_of(shed, 1)]


def test_a_number_that_no_crate_has_begins_a_part_only_by_its_own_command(shed: Store) -> None:
    with pytest.raises(NotKept, match=r"no crate here has it.*pulldrop parts new --id 4711"):
        keep.for_run(shed, "4711")
    assert keep.for_run(shed, "4K7") == "4K7", "an id is none"


def test_a_number_that_a_crate_does_not_have_is_no_id_and_its_numbers_are_named(shed: Store) -> None:
    for ask in (keep.resolve, keep.for_run):
        with pytest.raises(NotKept, match=r"The crate 'shed 2' has no part number 44; its numbers: 1 to 2[.]"):
            ask(shed, "Shed 2 #44")
    with pytest.raises(NotKept, match="There is no part 'shed 3 44'"):
        keep.resolve(shed, "shed 3 44")


def test_a_crate_is_found_by_its_name_and_its_parts_show_their_numbers(shed: Store) -> None:
    found = keep.numbered(shed, keep.find(shed, "SHED 2"))
    assert [one.numbers for one in found] == [("shed 2 1",), ("shed 2 2",)]


def test_a_scrapped_part_is_never_due_until_it_is_taken_back(shed: Store) -> None:
    kept, scrapped = id_of(shed, 1), id_of(shed, 2)
    for due in (fleet(shed, 12, LATER).due, of_lines(shed, True, 12, LATER).due):
        assert [one.part for one in due] == [kept]
    seq = len(shed.crate_events("shed 2"))
    shed.crate_event(Entry("shed 2", seq + 1, CrateEvent(kind=Happened.UNDONE, at=LATER, number=2)))
    assert {one.part for one in fleet(shed, 12, LATER).due} == {kept, scrapped}
    assert Bin.SCRAP not in {one.placed.bin for one in numbers.alone(shed, "2") or ()}
