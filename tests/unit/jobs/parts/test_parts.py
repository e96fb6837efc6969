"""Statements about parts as a person keeps them: cards, events, photos, and finding one again."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import databases
import pytest
import records
from sqlalchemy.exc import DBAPIError

from pulldrop.jobs.parts import keep as parts
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.part.part_id import well_formed
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.store import NotKept, RunHeader, Store, StoreTrouble

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
HORN = Card(description="mini changeover", printed="BD 12V", donor="town bus 12", position="horn", notes="chipped")


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return databases.new(request.param, tmp_path)


@pytest.fixture
def store(where: str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def event(part: str, kind: PartEventKind, day: int, text: str = "", place: str = "") -> PartEvent:
    return PartEvent(part=part, at=NOW + timedelta(days=day), kind=kind, text=text, place=place)


def keep(store: Store, record: RunRecord) -> None:
    header = RunHeader(**{name: getattr(record, name) for name in RunHeader.model_fields})
    with store.run(header) as run:
        for judged in record.judged:
            run.add(judged)
        run.finish(record.verdict, record.started + timedelta(seconds=14), 12.0)


def test_a_part_has_its_id_and_card_before_its_first_test(store: Store) -> None:
    made = parts.new(store, Relay(id="", form="C"), HORN)
    assert well_formed(made.part.id) and made.card == HORN and made.runs == 0 and made.last is None
    assert [one.part.id for one in parts.views(store)] == [made.part.id]
    assert store.runs(made.part.id) == ()


def test_an_edited_card_leaves_the_old_one_in_the_events(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    before = store.part("23Y").part
    parts.describe(store, before, HORN.model_copy(update={"position": "wipers"}), simulated=False)
    assert [line.part.id for line in store.search("wipers")] == ["23Y"]
    assert parts.view(store, store.part("23Y")).card.position == "wipers"
    assert [one.card.position for one in store.part_events("23Y") if one.card] == ["horn", "wipers"]


def test_a_withdrawn_event_counts_no_more_and_stays_in_the_record(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    store.part_event(event("23Y", PartEventKind.FITTED, 1, place="town bus 12, horn"))
    slip = store.part_event(event("23Y", PartEventKind.MOVED, 2, place="shelf 3"))
    parts.withdraw(store, "23Y", slip.id[-4:], "that was another part")
    assert parts.view(store, store.part("23Y")).place == "fitted: town bus 12, horn"
    assert {one.kind for one in store.part_events("23Y")} == {PartEventKind.DESCRIBED, PartEventKind.FITTED}
    assert {one.part for one in store.events_of({"23Y"})} == {"23Y"} and slip not in store.events_of({"23Y"})
    assert parts.find(store, "shelf 3") == ()
    ever = store.events_ever("23Y")
    assert slip in ever and [(one.withdraws, one.text) for one in ever if one.withdraws] == [
        (slip.id, "that was another part")
    ]
    assert store.verify().findings == ()


@pytest.mark.parametrize("which", ["", "zz", "described", "the same again"])
def test_only_one_event_that_stands_can_be_withdrawn(store: Store, which: str) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    other = store.part_event(event("23Y", PartEventKind.CLEANED, 1))
    slip = store.part_event(event("23Y", PartEventKind.CLEANED, 2))
    card = next(one for one in store.part_events("23Y") if one.card)
    parts.withdraw(store, "23Y", slip.id)
    named = {"described": card.id, "the same again": slip.id}.get(which, which)
    with pytest.raises(NotKept, match=f"no event of part 23Y.*{other.id[-4:]}.*cleaned"):
        parts.withdraw(store, "23Y", named)
    assert {one.id for one in store.part_events("23Y")} == {card.id, other.id}


def test_where_a_part_is_follows_from_what_happened_in_the_order_of_its_days(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    for one in (
        event("23Y", PartEventKind.MOVED, 9, place="shelf 3"),
        event("23Y", PartEventKind.FITTED, 2, place="town bus 12, horn"),
        event("23Y", PartEventKind.CLEANED, 5),
        event("23Y", PartEventKind.REMOVED, 4),
    ):
        store.part_event(one)
    assert parts.view(store, store.part("23Y")).place == "shelf 3"
    assert [e.kind for e in store.part_events("23Y")[:3]] == ["fitted", "removed", "cleaned"]


def test_a_part_in_a_vehicle_and_one_that_was_only_pulled_say_so(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    store.part_event(event("23Y", PartEventKind.FITTED, 1, place="town bus 12, horn"))
    assert parts.view(store, store.part("23Y")).place == "fitted: town bus 12, horn"
    store.part_event(event("23Y", PartEventKind.REMOVED, 2))
    assert "no place was recorded" in parts.view(store, store.part("23Y")).place


def test_nothing_happens_to_a_part_that_does_not_exist(store: Store) -> None:
    with pytest.raises(NotKept, match="no part '23Y'"):
        store.part_event(event("23Y", PartEventKind.CLEANED, 1))


def test_a_slip_is_answered_with_the_part_that_was_meant_and_what_it_is(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    assert parts.resolve(store, " 23y") == parts.resolve(store, "Z3Y") == "23Y"
    with pytest.raises(NotKept, match=r"no part '24Y'. Probably meant: 23Y \(mini changeover, town bus 12, horn\)"):
        parts.resolve(store, "24Y")
    with pytest.raises(NotKept, match="none near it"):
        parts.resolve(store, "pump")


def test_a_run_is_not_kept_under_a_slip_beside_a_known_part(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    assert parts.for_run(store, "") == ""
    assert parts.for_run(store, "23y") == "23Y"
    with pytest.raises(NotKept, match=r"Probably meant: 23Y .* parts new --id 23X"):
        parts.for_run(store, "23X")
    assert parts.for_run(store, "pump-7") == "pump-7", "a house may have numbers of its own"
    parts.new(store, Relay(id="pump-7", form="C"), Card())
    assert parts.for_run(store, "pump-8") == "pump-8", "without a check character nobody knows a slip"


def test_an_id_is_given_to_one_part_only(store: Store) -> None:
    parts.new(store, Relay(id="horn-1", form="C"), HORN)
    with pytest.raises(NotKept, match="There is a part horn-1 already"):
        parts.new(store, Relay(id="HORN-1", form="A"), Card())


@pytest.mark.parametrize("id", ["horn-1", "aB_.c"])
def test_an_id_is_known_in_capitals_and_in_small_letters(store: Store, id: str) -> None:
    parts.new(store, Relay(id=id, form="C"), HORN)
    assert {parts.find_id(store, text) for text in (id, id.upper(), id.lower())} == {id}


def test_parts_are_found_by_words_without_a_list_of_all_ids(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fifty thousand ids take longer than the search."""
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    monkeypatch.setattr(Store, "part_ids", lambda _store: pytest.fail("every id was read"))
    assert [one.part.id for one in parts.find(store, "town horn")] == ["23Y"]


@pytest.mark.parametrize("text", ["town bus 12", "chipped", "BD horn", "23y", "part:23Y", "left shelf"])
def test_a_part_is_found_by_what_is_known_of_it(store: Store, text: str) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    parts.new(store, Relay(id="", form="C"), Card(description="mini changeover", donor="town bus 31"))
    store.part_event(event("23Y", PartEventKind.MOVED, 1, place="left shelf"))
    assert [one.part.id for one in parts.find(store, text)] == ["23Y"]
    assert parts.find(store, "town tram") == ()


def test_a_part_that_lost_its_label_is_found_by_its_readings(store: Store) -> None:
    shifts = (1.0, 0.93, 1.08, 0.9, 1.12)
    for number, shift in enumerate(shifts):
        keep(store, shifted(f"P{number:04d}", shift))
    keep(store, shifted("lost", 0.9003))
    found = parts.looks_like(store, "lost")
    assert found is not None and found.part.part.id == "P0003" and found.odds > 10
    keep(store, shifted("new", 1.04))
    assert parts.looks_like(store, "new") is None


def test_a_part_without_readings_looks_like_nothing_yet(store: Store) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    with pytest.raises(NotKept, match="never tested"):
        parts.looks_like(store, "23Y")


def shifted(part: str, share: float) -> RunRecord:
    """A run of a part whose every figure is by a share above or below the usual ones."""
    ids = ("coil_resistance_20c", "drop_out_voltage", "operate_time", "release_time")
    judged = []
    for one in records.good():
        if one.id in ids:
            finding = one.finding.model_copy(update={"value": one.finding.value * share})
            one = one.model_copy(update={"finding": finding})
        judged.append(one)
    return records.record(judged=tuple(judged), part=part, label="")


def test_a_photo_is_kept_once_under_the_hash_of_its_content(store: Store, tmp_path: Path) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    picture = tmp_path / "horn.JPG"
    picture.write_bytes(b"invented picture")
    first, second = (parts.add_photo(store, "23Y", picture, "case").photo for _ in range(2))
    assert first == second and first.endswith(".jpg") and len(list(store.photos.iterdir())) == 1
    assert store.photo(first).read_bytes() == b"invented picture"
    store.photo(first).write_bytes(b"another picture")
    with pytest.raises(StoreTrouble, match="changed since it was kept"):
        store.photo(first)
    store.photos.joinpath(first).unlink()
    with pytest.raises(NotKept, match="backup"):
        store.photo(first)
    assert parts.photos(store, store.part_events("23Y")) == ((first, b"", "case"),) * 2, "told, and not shown"


def test_events_are_never_changed(store: Store, where: str) -> None:
    parts.new(store, Relay(id="23Y", form="C"), HORN)
    with databases.behind(where) as plain, pytest.raises(DBAPIError, match="append only"):
        plain.exec_driver_sql("UPDATE part_event SET kind = 'fitted'")
    assert store.verify().findings == ()
    store.part_event(event("23Y", PartEventKind.CLEANED, 1))
    assert store.verify().findings == (), "events are in the chain as everything else is"


def test_what_is_not_told_anew_stays_as_it_was(store: Store) -> None:
    keep(store, records.record(label="horn relay", part="23Y"))
    keep(store, records.record(label="", part="23Y"))
    assert store.part("23Y").part.label == "horn relay"
