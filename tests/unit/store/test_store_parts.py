"""Statements about the parts of a store: the ids they get, what is refused, how they are listed and found."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import databases
import pytest
import records
from test_store import BLANK, header, keep

from pulldrop.model.part.relay import Relay
from pulldrop.model.verdict import Overall
from pulldrop.store import PartRefused, Store


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return databases.new(request.param, tmp_path)


@pytest.fixture
def store(where: str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def test_a_part_without_an_id_gets_one_that_no_part_has(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    draws = iter(["4K7RT", "4K7RT", "7TWAA"])
    monkeypatch.setattr("pulldrop.store.records.parts.drawn", lambda chance, given: next(draws))
    assert keep(store, BLANK).part.id == "4K7RT"
    assert keep(store, BLANK).part.id == "7TWAA"


def test_a_part_is_born_once_and_never_again(store: Store) -> None:
    first, second, other = (keep(store, one).part for one in (BLANK, BLANK, records.record(part="P0041")))
    assert len({first.births, second.births, other.births}) == 3 and len(first.births) == 1
    again = keep(store, BLANK.model_copy(update={"part": Relay(id=first.id, form="C", label="horn")})).part
    assert again.births == first.births
    assert {line.part.id: line.part.births for line in store.parts()}[first.id] == first.births
    assert store.part(first.id).part == again


@pytest.mark.parametrize("id", ["two words", "x" * 21, "<b>", "-x", "a\n", "Größe", "a/b"])
def test_an_id_that_cannot_be_written_on_a_part_is_refused(store: Store, id: str) -> None:
    with pytest.raises(PartRefused, match="part's id"):
        store.run(header(records.record(part=id)))
    assert store.parts() == ()


def test_real_and_simulated_runs_are_never_kept_under_one_part(store: Store) -> None:
    keep(store, records.record(kind="virtual"))
    with pytest.raises(PartRefused, match="P0001 is a simulated part; a real run"):
        store.run(header(records.record(kind="real")))
    keep(store, records.record(kind="real", part="P0002"))
    with pytest.raises(PartRefused, match="P0002 is a real part; a simulated run"):
        store.run(header(records.record(kind="emulated", part="P0002")))
    assert [len(store.runs(id)) for id in ("P0001", "P0002")] == [1, 1]


def test_every_line_of_a_list_says_simulated_or_real(store: Store) -> None:
    keep(store, records.record(kind="virtual", part="P0001"))
    keep(store, records.failed(kind="real", part="P0002"))
    assert [(p.part.id, p.simulated, p.last.simulated, p.last.overall) for p in store.parts()] == [
        ("P0001", True, True, Overall.PASS),
        ("P0002", False, False, Overall.FAIL),
    ]
    assert store.runs("P0001")[0].simulated is True
    assert store.part("P0002").last.board_kind == "real"


def test_a_corrected_description_is_new_and_old_runs_keep_the_old_one(store: Store) -> None:
    first = keep(store, records.record(label="horn"))
    second = keep(store, records.record(label="horn, bus 7"))
    third = keep(store, records.record(label="horn, bus 7"))
    assert [store.record(r.run).part.label for r in (first, second, third)] == ["horn", "horn, bus 7", "horn, bus 7"]
    assert [p.part.label for p in store.parts()] == ["horn, bus 7"]
    assert (store.part("P0001").runs, store.part("P0001").part.label) == (3, "horn, bus 7")


@pytest.mark.parametrize("few", [0, 1, 10_000])
def test_a_search_finds_the_newest_first_whether_its_words_are_rare_or_common(
    store: Store, monkeypatch: pytest.MonkeyPatch, few: int
) -> None:
    monkeypatch.setattr("pulldrop.store.views.overview.FEW", few)
    for day, label in enumerate(("horn, town bus 1", "wiper, town bus 2", "horn, coach 3", "horns, town bus 4")):
        one = records.record(part=f"P{day}", label=label)
        keep(store, one.model_copy(update={"started": records.STARTED + timedelta(days=day)}))
    store.new_part(Relay(id="P9", form="A", label="town horn, never tested"), True)
    found = {text: [line.part.id for line in store.search(text)] for text in ("horn", "town horn", "BUS", "p", "x", "")}
    assert found == {
        "horn": ["P3", "P2", "P0", "P9"],
        "town horn": ["P3", "P0", "P9"],
        "BUS": ["P3", "P2", "P1", "P0"],
        "p": ["P3", "P2", "P1", "P0", "P9"],
        "x": [],
        "": [],
    }
