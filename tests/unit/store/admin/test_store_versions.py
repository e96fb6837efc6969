"""Statements about a store of an earlier version: it grows step by step, keeps what it holds, or stays as it was.

There is only one version yet, so the steps to later ones are invented.
"""

import re
import subprocess
import sys
from pathlib import Path

import databases
import pytest
import records
from databases import add_shelves
from sqlalchemy import Connection
from test_store import fill, keep

from pulldrop.store import Store
from pulldrop.store.admin import version
from pulldrop.store.database.tables import RECORDS


@pytest.fixture(params=databases.BACKENDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A store of version 1 with a row in every table of records."""
    made = databases.new(request.param, tmp_path)
    with Store.open(made) as store:
        fill(store)
    return made


def number_of(where: str) -> int:
    with Store.open(where) as store:
        return store.info().version


def rows_of(where: str) -> dict[str, list[tuple[object, ...]]]:
    with databases.behind(where) as plain:
        return {one.name: [tuple(row) for row in plain.execute(one.select().order_by(*one.primary_key))]
                for one in RECORDS}  # fmt: skip


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
        return sorted(str(tuple(row)) for rows in (columns, guards) for row in rows)


def test_an_older_store_grows_and_keeps_every_row_as_it_was(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before = rows_of(where)
    assert number_of(where) == 1
    monkeypatch.setattr(version, "STEPS", (add_shelves,))
    assert number_of(where) == 2
    assert rows_of(where) == before
    assert any("shelf_no_" in line for line in schema(where)), "a table that a step makes is guarded"
    with Store.open(where) as store:
        assert databases.altered(store) == []
        keep(store, records.record(part="P0009"))
        assert databases.altered(store) == []


def test_only_the_steps_that_a_store_lacks_are_taken_and_in_their_order(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[int] = []
    steps = tuple(lambda _, number=number: taken.append(number) for number in (2, 3, 4))
    monkeypatch.setattr(version, "STEPS", steps[:1])
    assert (number_of(where), taken) == (2, [2])
    monkeypatch.setattr(version, "STEPS", steps)
    assert (number_of(where), taken) == (4, [2, 3, 4])
    assert (number_of(where), taken) == (4, [2, 3, 4]), "once and no more"


def test_working_sums_are_made_anew_behind_the_steps(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(version, "STEPS", (lambda plain: plain.exec_driver_sql("DROP TABLE part_now"),))
    with Store.open(where) as store:
        assert store.verify().findings == () and len(store.parts()) == 1


def test_a_step_that_fails_leaves_the_store_as_it_was(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(plain: Connection) -> None:
        raise ZeroDivisionError

    before = schema(where), rows_of(where)
    monkeypatch.setattr(version, "STEPS", (add_shelves, fails))
    with pytest.raises(ZeroDivisionError):
        Store.open(where)
    assert (schema(where), rows_of(where)) == before
    monkeypatch.undo()
    assert number_of(where) == 1


def test_a_store_in_a_file_is_opened_without_loading_what_only_a_server_needs(tmp_path: Path) -> None:
    look = f"import sys; from pulldrop.store import Store; Store.open({str(tmp_path / 'a.db')!r}).close(); "
    done = subprocess.run(
        [sys.executable, "-c", look + "print('psycopg' in sys.modules)"],
        capture_output=True, text=True, check=True, env={"PYTHONPATH": ":".join(sys.path)},
    )  # fmt: skip
    assert done.stdout.split() == ["False"]
