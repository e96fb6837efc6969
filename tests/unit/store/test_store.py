"""Statements about history: what was kept is read back as it was, and nothing kept can be changed."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import get_args

import databases
import pytest
import records
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.exc import IntegrityError

from pulldrop.model.bench.calibration import nominal
from pulldrop.model.bench.kit import Golden
from pulldrop.model.crate.crate import CrateEvent, Happened
from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import Clamped
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.pair import ContactState, Pair
from pulldrop.model.part.relay import Relay
from pulldrop.model.raw import Capture, Contact, Edge
from pulldrop.model.reading import Because, Condition, NotTested, Reading, Term
from pulldrop.model.run.record import RunRecord
from pulldrop.model.scale import Grade
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.store import AT, Entry, NotKept, RunHeader, Store, StoreTrouble
from pulldrop.store.database import chain, tables
from pulldrop.store.database.place import VERSION_TABLE
from pulldrop.store.database.tables import APPLICATION, RECORDS, metadata
from pulldrop.store.records.arrived import Arriving

KINDS = [
    records.record(),
    records.record(kind="real", calibrated=True),
    records.record(kind="emulated"),
    records.failed(),
    records.unsure(kind="real"),
    records.open_coil(),
    records.record(Overall.WITHOUT_LOAD, judged=()),
    records.record(Overall.BENCH_TROUBLE, records.good()[:2]),
]


BLANK = records.record().model_copy(update={"part": Relay(id="", form="C")})


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return databases.new(request.param, tmp_path)


@pytest.fixture
def store(where: str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def header(record: RunRecord) -> RunHeader:
    return RunHeader(**{name: getattr(record, name) for name in RunHeader.model_fields})


def keep(store: Store, record: RunRecord) -> RunRecord:
    """Write `record` as a run would; it gets its run id from the store."""
    with store.run(header(record)) as run:
        for judged in record.judged:
            run.add(judged)
        if record.ended is not None:
            assert run.finish(record.verdict, record.ended, record.bench_s, record.faults).run == run.id
    return record.model_copy(update={"run": run.id, "part": run.part})


@pytest.mark.parametrize("record", KINDS, ids=lambda r: f"{r.verdict.overall} {r.board.kind}")
def test_a_record_is_read_back_equal_to_what_was_written(store: Store, record: RunRecord) -> None:
    kept = keep(store, record)
    assert store.record(kept.run) == kept


def test_a_record_survives_closing_and_opening_again(where: str) -> None:
    with Store.open(where) as first:
        kept = keep(first, records.failed())
    with Store.open(where if "://" in where else f"sqlite:///{where}") as second:
        assert second.record(kept.run) == kept


def two_terminals(written: str) -> bool:
    return len(set(written.split("-"))) == 2


numbers = st.floats(allow_nan=False, allow_infinity=False)
words = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
captures = st.builds(
    Capture,
    edges=st.lists(st.builds(Edge, tick=st.integers(0, 2**31), contact=st.sampled_from([1, 2]), closed=st.booleans()))
    .map(tuple),
    contacts_before=st.sampled_from([Contact(n) for n in range(4)]),
    samples=st.lists(st.integers(0, 1023), max_size=20).map(tuple),
    sample_ticks=st.integers(1, 10_000),
    window_ticks=st.integers(1, 400_000),
)  # fmt: skip
terms = st.builds(Term, name=words, u=st.floats(0, 1e9), why=words, freedom=st.sampled_from([None, 2.0, float("inf")]))
pairs = st.lists(
    st.from_regex(r"[0-9A-Za-z]{1,8}-[0-9A-Za-z]{1,8}", fullmatch=True).filter(two_terminals).map(Pair.parse)
)
states = st.builds(ContactState.of, pairs, pairs)
readings = st.builds(
    Reading,
    id=words,
    unit=words,
    value=st.none() | numbers,
    state=st.none() | states | st.sampled_from(Clamped),
    bound=st.sampled_from(["=", "<", ">"]),
    budget=st.lists(terms).map(tuple),
    conditions=st.lists(
        st.builds(Condition, name=words, text=words, value=st.none() | numbers, unit=words, code=words)
    ).map(tuple),
    makes=st.lists(numbers, max_size=5).map(tuple),
    raw=st.lists(captures, max_size=3).map(tuple),
)  # fmt: skip
limits = st.builds(
    Limit,
    text=words,
    source=st.just(records.PRACTICE),
    unit=words,
    low=st.none() | numbers,
    high=st.none() | numbers,
    state=st.none() | states,
)


@settings(max_examples=60, deadline=None)
@given(readings, st.sampled_from(list(Outcome)), words, st.none() | limits, st.none() | st.sampled_from(list(Grade)))
def test_any_reading_at_all_is_read_back_as_it_was(
    finding: Reading, outcome: Outcome, reason: str, limit: Limit | None, grade: Grade | None
) -> None:
    judged = Judged(id=finding.id, outcome=outcome, reason=reason, finding=finding, limit=limit, grade=grade)
    with Store.open(":memory:") as store:
        kept = keep(store, records.record(judged=(judged,)))
        assert store.record(kept.run).judged == (judged,)


def test_a_capture_behind_several_readings_is_kept_once(where: str, store: Store) -> None:
    keep(store, records.record())
    with databases.behind(where) as plain:
        captures = plain.exec_driver_sql("SELECT count(*) FROM raw").scalar_one()
        links = plain.exec_driver_sql("SELECT count(*) FROM measurement_raw").scalar_one()
    assert (captures, links) == (10, 17)


def test_each_measurement_is_kept_before_the_next_is_made(where: str, store: Store) -> None:
    record = records.record()
    with store.run(header(record)) as run:
        for count, judged in enumerate(record.judged, 1):
            run.add(judged)
            with Store.open(where) as elsewhere:
                assert elsewhere.record(run.id).judged == record.judged[:count]


def test_a_run_without_an_end_is_interrupted_and_never_a_pass(store: Store) -> None:
    kept = keep(store, records.interrupted())
    read = store.record(kept.run)
    assert read.verdict.overall is Overall.INTERRUPTED
    assert (read.ended, read.bench_s, read.judged) == (None, 0.0, kept.judged)
    assert store.runs("P0001")[0].overall is Overall.INTERRUPTED


def test_leaving_a_run_by_an_exception_leaves_it_interrupted(store: Store) -> None:
    record = records.record()
    with pytest.raises(KeyboardInterrupt), store.run(header(record)) as run:
        run.add(record.judged[0])
        raise KeyboardInterrupt
    assert store.record(run.id).verdict.overall is Overall.INTERRUPTED


def test_nothing_can_be_added_to_a_finished_run(store: Store) -> None:
    record = records.record()
    run = store.run(header(record))
    run.finish(record.verdict, records.STARTED, 1.0)
    with pytest.raises(RuntimeError, match="closed"):
        run.add(record.judged[0])
    with pytest.raises(RuntimeError, match="closed"):
        run.finish(record.verdict, records.STARTED, 1.0)


CHANGES = {
    "change": "UPDATE {0} SET {1} = {1}",
    "remove": "DELETE FROM {0}",
    "replace": "REPLACE INTO {0} SELECT * FROM {0}",
}
ON_SERVER = {
    "replace": "INSERT INTO {0} SELECT * FROM {0} ON CONFLICT ({2}) DO UPDATE SET {1} = excluded.{1}",
    "empty": "TRUNCATE {0} CASCADE",
}


def fill(store: Store) -> RunRecord:
    """A row in every table of records."""
    keep(store, records.interrupted())
    kept = keep(store, records.record(faults=(records.FAULT,)))
    store.add_calibration(records.calibration_record())
    store.mark_golden(Golden(part=kept.part.id, run=kept.run, marked=records.STARTED))
    store.crate("Crate 4", True, records.STARTED)
    store.crate_event(Entry("Crate 4", 1, CrateEvent(kind=Happened.NOTED, at=records.STARTED, number=1, text="dusty")))
    store.add_judgement(records.judgement(kept))
    store.part_event(PartEvent(part=kept.part.id, at=records.STARTED, kind=PartEventKind.NOTE, text="cleaned"))
    with store.writing() as connection:
        bundle = chain.Bundle()
        Arriving(connection, "cabin.db, a store").note(bundle, tables.part, 1)
        chain.append(connection, [bundle])
    return kept


@pytest.fixture(scope="module", params=databases.BACKENDS)
def guarded(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A store that holds everything; nobody manages to change it."""
    return databases.filled(request.param, tmp_path_factory.mktemp("guarded"), fill)[0]


@pytest.mark.parametrize("table", [table.name for table in RECORDS])
def test_no_row_can_be_changed_removed_or_replaced(guarded: str, table: str) -> None:
    where = guarded
    on_server = "://" in where
    keys = [column.name for column in metadata.tables[table].primary_key.columns]
    with databases.behind(where) as plain:
        before = plain.exec_driver_sql(f"SELECT * FROM {table}").fetchall()
        for change in (CHANGES | ON_SERVER if on_server else CHANGES).values():
            with pytest.raises(IntegrityError, match="append only"):
                plain.exec_driver_sql(change.format(table, keys[0], ", ".join(keys)))
        assert before
        assert plain.exec_driver_sql(f"SELECT * FROM {table}").fetchall() == before


def test_no_measurement_can_be_slipped_in_after_the_end(where: str, store: Store) -> None:
    keep(store, records.record())
    with databases.behind(where) as plain, pytest.raises(IntegrityError, match="ended"):
        plain.exec_driver_sql(
            "INSERT INTO measurement (run, seq, id, simulated, outcome, reason) "
            "SELECT run, 99, id, simulated, 'pass', reason FROM measurement LIMIT 1"
        )


def test_what_is_acknowledged_is_on_the_disk(store: Store) -> None:
    with store.engine.connect() as connection:
        if store.place.on_server:
            assert connection.exec_driver_sql("SHOW synchronous_commit").scalar_one() == "on"
            return
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar_one() == 2


def test_runs_are_listed_from_the_oldest_whatever_the_clock_zone(store: Store) -> None:
    noon_in_zone_2 = datetime(2026, 5, 4, 12, 0, tzinfo=timezone(timedelta(hours=2)))
    later = records.record().model_copy(update={"started": datetime(2026, 5, 4, 11, 0, tzinfo=UTC)})
    earlier = records.record().model_copy(update={"started": noon_in_zone_2})
    ids = [keep(store, later).run, keep(store, earlier).run]
    assert [line.run for line in store.runs("P0001")] == ids[::-1]
    assert store.record(ids[1]).started == noon_in_zone_2


def test_a_time_without_a_zone_is_refused(store: Store) -> None:
    naive = records.record().model_copy(update={"started": datetime(2026, 5, 4, 12, 0)})
    with pytest.raises(ValueError, match="zone"):
        store.run(header(naive))


def test_an_unknown_part_or_run_is_said_to_be_unknown(store: Store) -> None:
    for ask in (store.part, store.runs, store.record):
        with pytest.raises(NotKept, match=r"no (part|run) 'P0099'"):
            ask("P0099")


@pytest.mark.parametrize("backend", databases.BACKENDS)
def test_two_programs_may_open_a_new_store_and_write_in_turn(backend: str, tmp_path: Path) -> None:
    where = databases.empty(backend, tmp_path)
    with Store.open(where) as one, Store.open(where) as two:
        ids = [keep(store, BLANK).part.id for store in (one, two, one, two)]
        assert sorted(ids) == [line.part.id for line in one.parts()]


def test_a_store_in_memory_needs_no_file() -> None:
    for where in (":memory:", "sqlite://", "sqlite:///:memory:"):
        with Store.open(where) as store:
            assert store.file is None
            kept = keep(store, records.record())
            assert store.record(kept.run) == kept


def test_the_usual_store_lies_in_the_platforms_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pulldrop.store.database.place.user_data_path", lambda *_, **__: tmp_path / "new" / "pulldrop")
    with Store.open() as store:
        assert store.file == tmp_path / "new" / "pulldrop" / "store.db"
        assert store.file.exists()


def test_a_store_carries_its_version(where: str, store: Store) -> None:
    with databases.behind(where) as plain:
        if store.file is None:
            assert plain.exec_driver_sql(f"SELECT version FROM {VERSION_TABLE}").scalar_one() == 1
            return
        assert plain.exec_driver_sql("PRAGMA user_version").scalar_one() == 1
        assert plain.exec_driver_sql("PRAGMA application_id").scalar_one() == APPLICATION


def test_a_store_of_a_later_version_is_refused_and_left_alone(where: str) -> None:
    Store.open(where).close()
    with databases.behind(where) as plain:
        plain.exec_driver_sql(
            f"UPDATE {VERSION_TABLE} SET version = 2" if "://" in where else "PRAGMA user_version = 2"
        )
    with pytest.raises(StoreTrouble, match=r"later pulldrop.*Install the later"):
        Store.open(where)


@pytest.mark.parametrize("then", ["add", "finish"])
def test_a_run_that_another_program_goes_on_with_is_trouble_and_its_record_is_rescued(store: Store, then: str) -> None:
    record = records.record()
    other, run = store.run(header(record)), store.run(header(record))
    other.id = run.id
    other.add(record.judged[0])
    with pytest.raises(StoreTrouble, match="another program wrote into it") as trouble:
        if then == "add":
            run.add(record.judged[0])
        run.finish(record.verdict, records.STARTED, 1.0)
    assert trouble.value.rescue is not None
    kept = json.loads(trouble.value.rescue.read_text())
    assert (len(kept["judged"]), kept["run"]) == (int(then == "add"), run.id)
    trouble.value.rescue.unlink()


@pytest.mark.parametrize("because", get_args(Because))
def test_not_tested_keeps_its_reason_beside_the_judges(store: Store, because: Because) -> None:
    finding = NotTested(id="operate_time", reason="no click", because=because)
    judged = records.judge(finding, Outcome.NOT_TESTED, "coil open")
    kept = keep(store, records.record(Overall.INCOMPLETE, (judged,)))
    assert store.record(kept.run).judged == (judged,)


def test_the_calibration_is_kept_with_the_run(store: Store) -> None:
    kept = keep(store, records.record(kind="real", calibrated=True))
    read = store.record(kept.run).calibration
    assert read.calibrated and read.drop == nominal(17).drop


def test_every_field_of_a_measurement_has_its_column() -> None:
    """A field that a noun gains must be kept too; add its column, and its name here."""
    fields = {noun: set(noun.model_fields) for noun in (Judged, Reading, NotTested, Limit, Source)}
    assert fields == {
        Judged: {"id", "outcome", "reason", "finding", "limit", "grade"},
        Reading: {"id", "unit", "value", "state", "bound", "budget", "conditions", "makes", "raw"},
        NotTested: {"id", "reason", "because"},
        Limit: {"text", "source", "unit", "low", "high", "state"},
        Source: {"text", "known"},
    }


@pytest.mark.parametrize("place", ["/depot/bench.db", ""])
def test_a_sentence_names_the_store_by_its_typed_place_or_not_at_all(place: str) -> None:
    """A part may be called like the store; nothing is taken out of a sentence by its text."""
    error = NotKept(f"The store{AT} holds no part ' /depot/bench.db'.", "/depot/bench.db")
    assert str(error) == "The store /depot/bench.db holds no part ' /depot/bench.db'."
    assert error.at(place) == f"The store{place and f' {place}'} holds no part ' /depot/bench.db'."
