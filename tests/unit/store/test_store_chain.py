"""Statements about the chain: whatever is changed in a store behind its back is found, and named."""

import re
from pathlib import Path

import databases
import pytest
import records
from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError
from test_store import fill, header, keep

from pulldrop.store import Store
from pulldrop.store.database import heads
from pulldrop.store.database.tables import RECORDS, metadata
from pulldrop.store.exchange import files
from pulldrop.store.exchange.files import FileRefused


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return databases.new(request.param, tmp_path)


def findings(where: str, noted: str = "") -> tuple[str, ...]:
    with Store.open(where) as store:
        return store.verify(noted).findings


@pytest.fixture(params=databases.BACKENDS)
def full(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[str, str]:
    """A store that holds everything, and a run in it."""
    where, kept = databases.filled(request.param, tmp_path, fill)
    return where, kept.run


def change(plain: Connection, table: str, statement: str) -> None:
    with databases.unguarded(plain, table):
        plain.exec_driver_sql(statement)


def test_what_was_written_by_the_program_is_found_whole(full: tuple[str, str]) -> None:
    where, _ = full
    with Store.open(where) as store:
        seen = store.verify()
    assert seen.findings == ()
    with databases.behind(where) as plain:
        counts = [plain.exec_driver_sql(f"SELECT count(*) FROM {t.name}").scalar_one() for t in RECORDS]
    assert (seen.rows, seen.entries) == (sum(counts[:-1]), counts[-1])
    assert seen.entries == 5 + 12 + 7, "each measurement, beginning and end is an entry of its own"


WORDS = (
    "run.board_kind", "measurement.outcome", "measurement.bound", "measurement.grade", "run_end.overall",
    "run_end.mark", "calibration.board_kind", "crate_event.kind", "crate_event.bin", "part_event.kind",
    "rejudged.overall",
)  # fmt: skip


@pytest.mark.parametrize("word", WORDS)
def test_the_database_takes_no_word_that_is_none_of_a_column(full: tuple[str, str], word: str) -> None:
    table, column = word.split(".")
    with databases.behind(full[0]) as plain:
        row = dict(plain.exec_driver_sql(f"SELECT * FROM {table} LIMIT 1").mappings().one()) | {column: "odd"}
        key = next(iter(row))
        row[key] = row[key] + 7777 if isinstance(row[key], int) else f"{row[key]}7"
        marks = ", ".join(("%s" if plain.dialect.name == "postgresql" else "?") for _ in row)
        with pytest.raises(IntegrityError, match=r"(?i)check constraint"):
            plain.exec_driver_sql(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", tuple(row.values()))


def test_a_trigger_that_only_looks_like_ours_is_found(tmp_path: Path) -> None:
    """In double quotes SQLite takes what is no name for a text (sqlite.org, quirks): such a trigger raises nothing."""
    where, _ = databases.filled("sqlite", tmp_path, fill)
    with databases.behind(where) as plain:
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        triggers = list(plain.exec_driver_sql(query))
        for name, sql in triggers:
            plain.exec_driver_sql(f"DROP TRIGGER {name}")
            plain.exec_driver_sql(re.sub(r"RAISE\(ABORT, '([^']*)'\)", r'''"RAISE(ABORT, '\1')"''', sql))
        plain.exec_driver_sql("DELETE FROM fault")
    found = findings(where)
    assert {f"The trigger {name} was altered." for name, _ in triggers} <= set(found) and len(triggers) > 10


KEYS = ('"--5"', "99999999999999999999999", '"99999999999999999999999"', f'"{"9" * 5000}"', '"5"', "true", "null")
TEXTS = ('"\\ud83d"', '"\\u0000"', "5")


@pytest.mark.parametrize("named", [f'"part",{key}' for key in KEYS] + [f'"run",{key}' for key in TEXTS], ids=ascii)
def test_an_entry_that_names_what_no_key_can_be_is_named(full: tuple[str, str], named: str) -> None:
    where, _ = full
    with databases.behind(where) as plain:
        change(plain, "link", f"UPDATE link SET rows = '[[{named},\"00000000\"]]' WHERE seq = 1")
    assert "Entry 1 was altered: its list of rows cannot be read." in findings(where)
    with Store.open(":memory:") as store, pytest.raises(FileRefused, match="not what was written"):
        files.import_from(store, where)


ALTERED = [
    ("part", "UPDATE part SET donor = 'another bus'", "part 1 was altered"),
    ("birth", "UPDATE birth SET part = 'P0002'", "birth 20260504T093000-of-P0001 was altered"),
    ("run", "UPDATE run SET operator = 'nobody' WHERE id = '{run}'", "run {run} was altered; entry"),
    (
        "measurement",
        "UPDATE measurement SET value = 0.01 WHERE run = '{run}' AND seq = 9",
        "measurement 9 of run {run}",
    ),
    ("measurement", "UPDATE measurement SET limit_high = 9 WHERE run = '{run}' AND seq = 3", "measurement 3 of run"),
    ("raw", "UPDATE raw SET body = (SELECT body FROM raw ORDER BY length(body) LIMIT 1) WHERE run = '{run}'", "raw"),
    ("measurement_raw", "UPDATE measurement_raw SET sha256 = (SELECT min(sha256) FROM raw)", "measurement_raw"),
    ("run_end", "UPDATE run_end SET overall = 'fail' WHERE run = '{run}'", "run_end of run {run} was altered"),
    ("measurement", "UPDATE measurement SET grade = 'bad' WHERE grade = 'good'", "measurement 9 of run {run}"),
    ("fault", "UPDATE fault SET weight = 0.1", "fault 0 of run {run} was altered"),
    ("calibration", "UPDATE calibration SET record = '{{}}'", "calibration 1 was altered"),
    ("golden", "UPDATE golden SET marked = ''", "golden 1 was altered"),
    ("crate_event", "UPDATE crate_event SET body = ''", "crate_event Crate 4 1 was altered"),
    ("document", "UPDATE document SET body = 'x'", "document"),
    ("rejudged", "UPDATE rejudged SET overall = 'pass'", "rejudged"),
]


@pytest.mark.parametrize(("table", "statement", "named"), ALTERED, ids=lambda one: str(one)[:30])
def test_an_altered_row_is_named(full: tuple[str, str], table: str, statement: str, named: str) -> None:
    where, run = full
    with databases.behind(where) as plain:
        change(plain, table, statement.format(run=run))
    found = findings(where)
    assert any(named.format(run=run) in one for one in found), found
    assert all(one.endswith(".") for one in found)


def test_one_altered_row_is_one_finding(full: tuple[str, str]) -> None:
    where, run = full
    with databases.behind(where) as plain:
        change(plain, "run_end", "UPDATE run_end SET found = 'nothing'")
    assert findings(where) == (f"run_end of run {run} was altered; entry 17 wrote it otherwise.",)


@pytest.mark.parametrize("table", [table.name for table in RECORDS if table.name != "link"])
def test_a_missing_row_is_named(full: tuple[str, str], table: str) -> None:
    where, _ = full
    keys = [column.name for column in metadata.tables[table].primary_key.columns]
    with databases.behind(where) as plain:
        if table in ("part", "run", "measurement", "raw", "crate") and "://" in where:
            plain.exec_driver_sql("SET session_replication_role = replica")  # takes no notice of foreign keys
        last = plain.exec_driver_sql(f"SELECT {', '.join(keys)} FROM {table} ORDER BY {', '.join(keys)}").fetchall()[-1]
        same = " AND ".join(f"{key} = '{value}'" for key, value in zip(keys, last, strict=True))
        change(plain, table, f"DELETE FROM {table} WHERE {same}")
    found = findings(where)
    assert any("is missing; entry" in one and one.startswith(table) for one in found), found


def test_a_row_put_in_from_outside_is_named(where: str) -> None:
    with Store.open(where) as store:
        kept = keep(store, records.interrupted())
        keep(store, records.record(part="P0002"))
    with databases.behind(where) as plain:
        plain.exec_driver_sql(
            "INSERT INTO measurement (run, seq, id, simulated, outcome, reason) "
            f"SELECT run, 4, id, simulated, 'pass', reason FROM measurement WHERE run = '{kept.run}' AND seq = 3"
        )
    assert findings(where) == (f"measurement 4 of run {kept.run} was put in from outside: no entry wrote it.",)


def test_a_run_that_never_ended_is_in_the_chain_too(where: str) -> None:
    with Store.open(where) as store:
        kept = keep(store, records.interrupted())
    with databases.behind(where) as plain:
        change(plain, "measurement", "UPDATE measurement SET value = value + 1 WHERE seq = 2")
    assert findings(where) == (f"measurement 2 of run {kept.run} was altered; entry 4 wrote it otherwise.",)


def test_measurements_that_changed_places_are_named(full: tuple[str, str]) -> None:
    where, run = full
    with databases.behind(where) as plain, databases.unguarded(plain, "measurement", "measurement_raw"):
        plain.exec_driver_sql(f"DELETE FROM measurement_raw WHERE run = '{run}' AND seq IN (3, 4)")
        for old, new in ((3, 99), (4, 3), (99, 4)):
            plain.exec_driver_sql(f"UPDATE measurement SET seq = {new} WHERE run = '{run}' AND seq = {old}")
    found = findings(where)
    assert [one.split(";")[0] for one in found] == [f"measurement {n} of run {run} was altered" for n in (3, 4)]


def test_entries_that_changed_places_are_named(full: tuple[str, str]) -> None:
    where, _ = full
    with databases.behind(where) as plain, databases.unguarded(plain, "link"):
        for old, new in ((8, 999), (9, 8), (999, 9)):
            plain.exec_driver_sql(f"UPDATE link SET seq = {new} WHERE seq = {old}")
    found = findings(where)
    assert [one.split(":")[0] for one in found] == [f"Entry {n} was altered or moved" for n in (8, 9, 10)]


def test_a_missing_entry_is_named_and_its_rows_are_strangers(full: tuple[str, str]) -> None:
    where, run = full
    with databases.behind(where) as plain:
        change(plain, "link", "DELETE FROM link WHERE seq = 10")
    found = findings(where)
    assert found[0] == "Entry 10 is missing."
    assert any(one.startswith("measurement 3 of run " + run) and "outside" in one for one in found)


@pytest.mark.parametrize("column", ["at = 'yesterday'", "rows = '[]'", "rows = 'x'", "hash = 'f'", "run = 'x'"])
def test_an_altered_entry_is_named(full: tuple[str, str], column: str) -> None:
    where, _ = full
    with databases.behind(where) as plain:
        change(plain, "link", f"UPDATE link SET {column} WHERE seq = 7")
    assert any("ntry 7" in one for one in findings(where))


def test_the_newest_entries_removed_with_their_rows_are_found_by_a_noted_head(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(heads, "noted", lambda _: "")
    with Store.open(where) as store:
        keep(store, records.record())
        before = store.verify().head
        run = store.run(header(records.failed()))
        head = store.verify().head
    with databases.behind(where) as plain:
        change(plain, "run", f"DELETE FROM run WHERE id = '{run.id}'")
        change(plain, "link", f"DELETE FROM link WHERE seq = {head.split(':')[0]}")
    with Store.open(where) as store:
        store.remake()
    assert findings(where) == (), "nothing in the store itself can show it"
    assert findings(where, before) == ()
    assert "the newest entries were removed" in findings(where, head)[0]


def test_a_chain_written_anew_is_found_by_a_noted_head(where: str) -> None:
    with Store.open(where) as store:
        fill(store)
        seq, _, digits = store.verify().head.partition(":")
    other = digits.translate(str.maketrans("0123456789abcdef", "123456789abcdef0"))
    assert "rewritten" in findings(where, f"{seq}:{other}")[0]
    assert "cannot be read" in findings(where, "yesterday")[0]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE part_now SET runs = 7",
        "UPDATE part_figure SET last = last * 1.01 WHERE id = 'contact_drop_no'",
        "DELETE FROM part_word WHERE word = 'indicator'",
        "INSERT INTO part_word VALUES ('pump', 'P0077')",
    ],
)
def test_working_sums_that_do_not_follow_from_the_records_are_found_and_made_anew(
    full: tuple[str, str], statement: str
) -> None:
    where, _ = full
    with databases.behind(where) as plain:
        plain.exec_driver_sql(statement)
    assert "verify --remake" in findings(where)[0]
    with Store.open(where) as store:
        store.remake()
    assert findings(where) == ()
