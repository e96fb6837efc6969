"""Statements about stores of earlier versions: they grow, keep what they hold, and end as a new store begins."""

import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import databases
import pytest
import records
from test_store import keep

from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Overall
from pulldrop.store import Store, migrate, place, summary
from pulldrop.store.tables import RECORDS, VERSION

EARLIER = sorted((Path(__file__).parent / "stores").glob("v*.sql"))


def older(dump: Path, folder: Path) -> str:
    """A store as the program of that version left it."""
    file = folder / f"{dump.stem}.db"
    with closing(sqlite3.connect(file)) as plain:
        plain.executescript(dump.read_text(encoding="utf-8"))
    return str(file)


def rows_of(where: str, names: list[str]) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(where)) as plain:
        return {name: plain.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall() for name in names}


def tables_of(where: str) -> list[str]:
    """Its tables of records."""
    with closing(sqlite3.connect(where)) as plain:
        names = {name for (name,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    return sorted(names & {table.name for table in RECORDS})


def test_every_earlier_version_is_among_the_tests() -> None:
    assert [int(dump.stem[1:]) for dump in EARLIER] == list(range(1, VERSION))


@pytest.mark.parametrize("dump", EARLIER, ids=lambda dump: dump.stem)
def test_an_older_store_grows_and_keeps_every_row_as_it_was(dump: Path, tmp_path: Path) -> None:
    where = older(dump, tmp_path)
    before = rows_of(where, tables_of(where))
    with Store.open(where) as store:
        assert [(line.part.id, line.runs, line.simulated) for line in store.parts()][:3] == [
            ("P0001", 2, True), ("P0002", 1, False), ("P0003", 1, True),
        ]  # fmt: skip
        first, second = (store.record(line.run) for line in store.runs("P0001"))
        assert [len(one.judged) for one in (first, second)] == [10, 5]
        burnt = first.judged[9]
        assert isinstance(burnt.finding, Reading) and (burnt.id, burnt.finding.value) == ("contact_drop_no", 0.734)
        assert isinstance(first.judged[5].finding, Reading) and len(first.judged[5].finding.raw) == 3
        assert (first.part.label, second.part.label) == ("horn relay", "horn relay, bus 7")
        assert first.verdict.overall is Overall.FAIL and first.plan.rating.rating == "depot-changeover-12v"
        assert store.record(store.runs("P0003")[0].run).verdict.overall is Overall.INTERRUPTED
        assert [line.part.id for line in store.search("horn")] == ["P0001"]
        assert store.fleet_sums(True, datetime.now(UTC), 6, 3.5, 50).kinds
        assert store.verify().findings == ()
    after = rows_of(where, list(before))
    assert all(rows == after[name][: len(rows)] for name, rows in before.items())
    assert all(len(rows) == len(after[name]) for name, rows in before.items() if name != "link"), "links only go on"


@pytest.mark.parametrize("dump", EARLIER, ids=lambda dump: dump.stem)
def test_a_part_from_before_is_known_by_its_first_run_or_event(dump: Path, tmp_path: Path) -> None:
    with Store.open(older(dump, tmp_path)) as store:
        births = {line.part.id: line.part.births for line in store.parts()}
        assert births["P0001"] == (store.runs("P0001")[0].run,)
        assert all(len(one) == 1 for one in births.values()) and len(set(births.values())) == len(births)
        assert store.record(store.runs("P0001")[1].run).part.births == births["P0001"]


@pytest.mark.parametrize("dump", EARLIER, ids=lambda dump: dump.stem)
def test_what_an_older_store_held_is_in_the_chain_from_then_on(dump: Path, tmp_path: Path) -> None:
    where = older(dump, tmp_path)
    with Store.open(where) as store:
        assert store.verify().findings == ()
        keep(store, records.record(part="P0009"))
        assert store.verify().findings == ()
        run = store.runs("P0001")[0].run
    with databases.behind(where) as plain:
        databases.unguard(plain, "measurement")
        plain.exec_driver_sql(f"UPDATE measurement SET value = 0.02 WHERE run = '{run}' AND seq = 9")
    with Store.open(where) as store:
        assert [one.split(" was")[0] for one in store.verify().findings if "sums" not in one] == [
            f"measurement 9 of run {run}"
        ]


def schema(where: str) -> list[str]:
    """All tables, indexes and triggers of a store, with their spaces evened out."""
    with databases.behind(where) as plain:
        if plain.dialect.name == "sqlite":
            rows = plain.exec_driver_sql("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL").scalars()
            return sorted(re.sub(r"\s*([(),])\s*", r"\1", re.sub(r"[\s\"]+", " ", row)) for row in rows)
        columns = plain.exec_driver_sql(
            "SELECT table_name, column_name, data_type, collation_name, is_nullable FROM information_schema.columns "
            "WHERE table_schema = 'public'"
        )
        guards = plain.exec_driver_sql("SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal")
        keys = plain.exec_driver_sql("SELECT pg_get_constraintdef(oid), conrelid::regclass::text FROM pg_constraint")
        indexes = plain.exec_driver_sql("SELECT indexdef, '' FROM pg_indexes WHERE schemaname = 'public'")
        return sorted(str(tuple(row)) for rows in (columns, guards, keys, indexes) for row in rows)


@pytest.mark.parametrize("dump", EARLIER, ids=lambda dump: dump.stem)
def test_a_grown_store_is_made_like_a_new_one(dump: Path, tmp_path: Path) -> None:
    where = older(dump, tmp_path)
    Store.open(where).close()
    Store.open(str(tmp_path / "new.db")).close()
    assert schema(where) == schema(str(tmp_path / "new.db"))


@pytest.mark.parametrize("backend", databases.BACKENDS)
def test_the_migrations_from_nothing_make_what_a_new_store_has(backend: str, tmp_path: Path) -> None:
    grown, new = (databases.empty(backend, tmp_path) for _ in range(2))
    engine = place.engine_for(place.locate(grown))
    with place.writing(engine).begin() as connection:
        migrate.upgrade(connection, 0)
        summary.remake(connection)
    engine.dispose()
    Store.open(new).close()
    assert schema(grown) == schema(new)


def test_a_migration_that_fails_leaves_the_store_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    where = older(EARLIER[0], tmp_path)
    before = schema(where)
    monkeypatch.setattr("pulldrop.store.summary.remake", lambda _: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        Store.open(where)
    assert schema(where) == before
    monkeypatch.undo()
    with Store.open(where) as store:
        assert len(store.parts()) == 3


def test_a_store_that_is_up_to_date_is_opened_without_loading_alembic(tmp_path: Path) -> None:
    Store.open(str(tmp_path / "a.db")).close()
    look = f"import sys; from pulldrop.store import Store; Store.open({str(tmp_path / 'a.db')!r}).close(); "
    done = subprocess.run(
        [sys.executable, "-c", look + "print('alembic' in sys.modules, 'psycopg' in sys.modules)"],
        capture_output=True, text=True, check=True, env={"PYTHONPATH": ":".join(sys.path)},
    )  # fmt: skip
    assert done.stdout.split() == ["False", "False"]
