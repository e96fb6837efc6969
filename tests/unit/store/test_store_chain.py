"""Statements about the chain: whatever is changed in a store behind its back is found, and named."""

import re
from pathlib import Path

import databases
import pytest
import records
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError, IntegrityError
from test_store import fill, header, keep

from pulldrop.store import Store, StoreTrouble
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


OUTSIDE = {
    "rule": (
        "rewriting rule pulldrop_version_r of arrival",
        "CREATE RULE pulldrop_version_r AS ON INSERT TO arrival DO INSTEAD NOTHING",
    ),
    "view": ("table pulldrop_version_v", "CREATE VIEW pulldrop_version_v AS SELECT * FROM run"),
    "trigger": (
        "trigger pulldrop_version odd",
        "CREATE TRIGGER odd BEFORE INSERT ON pulldrop_version FOR EACH ROW EXECUTE FUNCTION pulldrop_append_only()",
    ),
    "database": (
        "setting session_replication_role=replica",
        "ALTER DATABASE {database} SET session_replication_role = 'Replica'",
    ),
    "role": (
        "setting session_replication_role=replica",
        "ALTER ROLE depot IN DATABASE {database} SET session_replication_role = 'replica'",
    ),
    "path": (
        "trigger run_end run_end_no_change",
        "CREATE SCHEMA odd; CREATE VIEW odd.pg_trigger AS SELECT oid, tgrelid, tgparentid, tgname, tgfoid, tgtype, "
        "'O'::\"char\" AS tgenabled, tgisinternal, tgconstrrelid, tgconstrindid, tgconstraint, tgdeferrable, "
        "tginitdeferred, tgnargs, tgattr, tgargs, tgqual, tgoldtable, tgnewtable FROM pg_catalog.pg_trigger;"
        "ALTER DATABASE {database} SET search_path = public, odd, pg_catalog; ALTER TABLE run_end DISABLE TRIGGER ALL",
    ),
    "child": (
        "child table odd.run_end of run_end",
        "CREATE SCHEMA odd; CREATE TABLE odd.run_end () INHERITS (public.run_end);"
        "INSERT INTO odd.run_end SELECT * FROM run_end; ALTER TABLE run_end DISABLE TRIGGER ALL;"
        "DELETE FROM ONLY run_end; ALTER TABLE run_end ENABLE TRIGGER ALL",
    ),
    "unlogged": ("table arrival", "ALTER TABLE arrival SET UNLOGGED"),
    "owner": ("table run_end", "ALTER TABLE run_end OWNER TO pg_monitor"),
    "owner of a function": (
        "function pulldrop_append_only()",
        "ALTER FUNCTION pulldrop_append_only() OWNER TO pg_monitor",
    ),
    "overloaded function": (
        "function pulldrop_append_only(integer)",
        "CREATE FUNCTION pulldrop_append_only(int) RETURNS int LANGUAGE sql AS 'SELECT 1'",
    ),
    "forced row security": ("table run", "ALTER TABLE run FORCE ROW LEVEL SECURITY"),
    "policy": ("policy odd of run", "CREATE POLICY odd ON run USING (false)"),
    "collation": (
        "column run.started",
        "CREATE COLLATION public.\"C\" (provider = icu, locale = 'de-u-kn');"
        'ALTER TABLE run ALTER COLUMN started TYPE text COLLATE public."C"',
    ),
    "domain": (
        "column run.operator",
        'CREATE DOMAIN public.text AS pg_catalog.text; ALTER TABLE run ALTER operator TYPE public.text COLLATE "C"',
    ),
    "operator": (
        "object operator =(bigint,numeric)",
        "CREATE SCHEMA odd; CREATE FUNCTION odd.odd(bigint, numeric) RETURNS boolean LANGUAGE sql AS 'SELECT true';"
        "CREATE OPERATOR public.= (FUNCTION = odd.odd, LEFTARG = bigint, RIGHTARG = numeric)",
    ),
    "invalid index": (
        "index part_event_pkey",
        "UPDATE pg_index SET indisvalid = false WHERE indexrelid = 'part_event_pkey'::regclass",
    ),
    "event trigger": (
        "event trigger odd",
        "CREATE SCHEMA odd; CREATE FUNCTION odd.odd() RETURNS event_trigger LANGUAGE plpgsql AS 'BEGIN END';"
        "CREATE EVENT TRIGGER odd ON ddl_command_end EXECUTE FUNCTION odd.odd()",
    ),
}
"""What somebody may do to a database of PostgreSQL: what the finding names, and the statements."""


@pytest.mark.parametrize("what", OUTSIDE)
def test_what_was_done_to_a_database_of_a_server_is_named(what: str, tmp_path: Path) -> None:
    named, statements = OUTSIDE[what]
    where, _ = databases.filled("postgresql", tmp_path, fill)
    with databases.behind(where) as plain:
        for statement in statements.split(";"):
            plain.exec_driver_sql(statement.format(database=where.rpartition("/")[2]))
    found = findings(where)
    assert any(one.startswith(f"The {named} was ") for one in found), found


def test_the_guards_hold_in_our_sessions_whatever_the_database_is_set_to(tmp_path: Path) -> None:
    where = databases.new("postgresql", tmp_path)
    with databases.behind(where) as plain:
        plain.exec_driver_sql(f"ALTER DATABASE {where.rpartition('/')[2]} SET session_replication_role = replica")
    with Store.open(where) as store:
        keep(store, records.record())
        with store.writing() as connection, pytest.raises(DBAPIError, match="append only"):
            connection.exec_driver_sql("UPDATE run_end SET overall = 'pass'")


def test_a_user_who_may_not_switch_the_guards_on_is_refused(tmp_path: Path) -> None:
    where = databases.new("postgresql", tmp_path)
    with databases.behind(where) as plain:
        plain.exec_driver_sql("CREATE ROLE guest LOGIN")
        plain.exec_driver_sql("GRANT ALL ON ALL TABLES IN SCHEMA public TO guest")
        Store.look(where.replace("depot@", "guest@")).close()
        within = f"IN DATABASE {where.rpartition('/')[2]}"
        plain.exec_driver_sql(f"ALTER ROLE guest {within} SET session_replication_role = replica")
    with pytest.raises(StoreTrouble, match="session_replication_role"):
        Store.look(where.replace("depot@", "guest@"))


def test_a_store_is_found_and_whole_behind_an_empty_schema(tmp_path: Path) -> None:
    where, _ = databases.filled("postgresql", tmp_path, fill)
    with databases.behind(where) as plain:
        plain.exec_driver_sql("CREATE SCHEMA depot")  # as the user is called, so that it comes before public
    assert findings(where) == ()


def test_what_an_administrator_may_do_is_no_finding(tmp_path: Path) -> None:
    where, _ = databases.filled("postgresql", tmp_path, fill)
    with databases.behind(where) as plain:
        plain.exec_driver_sql("CREATE PUBLICATION all_of_it FOR ALL TABLES")
        plain.exec_driver_sql("GRANT SELECT ON run TO PUBLIC")
        plain.exec_driver_sql("COMMENT ON TABLE run IS 'a run'")
        plain.exec_driver_sql("ALTER TABLE run ALTER COLUMN operator SET STORAGE EXTERNAL")
        plain.exec_driver_sql("ALTER TABLE run SET (autovacuum_enabled = false)")
    assert findings(where) == ()


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


def test_a_rule_that_drops_rows_is_trouble_before_anything_is_taken_as_kept(tmp_path: Path) -> None:
    where, _ = databases.filled("postgresql", tmp_path, fill)
    with databases.behind(where) as plain:
        plain.exec_driver_sql("CREATE RULE quiet AS ON INSERT TO measurement DO INSTEAD NOTHING")
    with Store.open(where) as store:
        before = store.head()
        with pytest.raises(StoreTrouble, match="took 0 of 1 rows of measurement"):
            keep(store, records.record())
        assert "measurement" not in str(store.head()) and store.head() != before, "the run's beginning alone"
