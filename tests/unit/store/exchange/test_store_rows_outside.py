"""Rows of another store besides runs, whose chain holds and which make no sense: none is taken, and nothing is hurt."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
import records
from sqlalchemy import Table, select
from test_store import fill

from pulldrop.jobs.parts.health import health
from pulldrop.model.crate.crate import CrateEvent, Happened
from pulldrop.store import Store
from pulldrop.store.database import chain, tables
from pulldrop.store.exchange import files
from pulldrop.store.exchange.records_file import FileRefused
from pulldrop.store.records import crates

EVENT = '{"id":"20260504T093015-aaaaaaaa","part":"P0001","at":"2026-05-04T09:30:15Z","kind":"note","text":"x"}'
OTHER = dict(id="20260504T093015-aaaaaaaa", part="P0001", simulated=True, at="2026-05-04T09:30:15.000000+00:00")
NOTE = {**OTHER, "written": "2026-05-04T09:30:15+00:00", "kind": "note"}
BAD: tuple[tuple[Table, dict[str, object]], ...] = (
    (tables.part_event, {**NOTE, "body": "no JSON"}),
    (tables.part_event, {**NOTE, "body": "{}"}),
    (tables.part_event, {**OTHER, "written": "2026-05-04T09:30:15+00:00", "kind": "fitted", "body": EVENT}),
    (tables.part_event, {**OTHER, "written": "yesterday", "kind": "note", "body": EVENT}),
    (tables.part_event, {**NOTE, "body": "[" * 100_000}),
    (tables.part_event, {**NOTE, "part": "gone", "body": EVENT}),
    (tables.part_event, {**NOTE, "body": EVENT.replace("P0001", "gone")}),
    (tables.crate, dict(name="../x", simulated=True, begun="2026-05-04T09:30:15+00:00")),
    (tables.crate, dict(name="north", simulated=True, begun="a day in May")),
    (tables.crate_event, dict(crate="here", seq=9, at="now", kind="placed", number=1, run=None, bin="keep", body="{}")),
    (
        tables.calibration,
        dict(key=99, taken_at="now", simulated=False, board_kind="real", board_serial=1, record='{"board":{}}'),
    ),
    (tables.golden, dict(key=99, part="P0001", run="{run}", marked="once")),
    (tables.golden, dict(key=99, part="\x1b[2J", run="{run}", marked="2026-05-04T09:30:15+00:00")),
    (
        tables.rejudged,
        dict(
            id="20260504T093015-aaaaaaaa", run="{run}", at="2026-05-04T09:30:15+00:00", plan="{}", decisions="[]",
            faults="[]", overall="pass", found="", means="", next="", mark=None, unlike=None, software="", operator="",
        ),
    ),
)  # fmt: skip


def forged(where: Path, table: Table, row: dict[str, object]) -> str:
    """A store with one row more, written as pulldrop writes, so that its chain holds; gives a run that it has."""
    with Store.open(str(where)) as store:
        run = fill(store).run
        values = {name: run if value == "{run}" else value for name, value in row.items()}
        with store.writing() as connection:
            if table is tables.crate_event:
                crate = dict(name="here", simulated=True, begun="2026-05-04T09:30:15+00:00")
                if not connection.execute(select(tables.crate).where(tables.crate.c.name == "here")).first():
                    chain.append(connection, [chain.Bundle(rows=[(tables.crate, crate)])])
            chain.append(connection, [chain.Bundle(rows=[(table, values)])])
        said = f"{table.name} {values.get('id')} cannot be read back"
        assert [one for one in store.verify().findings if "working sums" not in one and said not in one] == []
        return run


@pytest.mark.parametrize("number", range(len(BAD)), ids=[f"{table.name}-{n}" for n, (table, _) in enumerate(BAD)])
def test_a_row_that_makes_no_sense_is_not_taken_though_its_chain_holds(number: int, tmp_path: Path) -> None:
    table, row = BAD[number]
    run = forged(tmp_path / "there.db", table, row)
    with Store.open(str(tmp_path / "here.db")) as store:
        taken = files.import_from(store, str(tmp_path / "there.db"))
        (refused,) = [one for one in taken.refused if f"A row of {table.name} was not taken in" in one]
        assert any(why in refused for why in ("cannot be read", "follows from the rest", "No part there"))
        assert store.record(run).run == run and store.verify().findings == ()
        for part in store.parts():
            health(store, part.part.id, datetime.now(UTC))
            store.events_ever(part.part.id)
        for crate in store.all_crates():
            store.crate_events(crate.name)
        store.judgements(run)
        store.calibrations()


@pytest.mark.parametrize(("name", "begun"), [("odd", "real"), ("*Box", "2026-05-04T09:30:15+00:00")])
def test_a_crate_that_is_refused_takes_its_events_with_it(name: str, begun: str, tmp_path: Path) -> None:
    event = CrateEvent(kind=Happened.GOLDEN, at=records.STARTED)
    with Store.open(str(tmp_path / "there.db")) as store:
        run = fill(store).run
        rows = [(tables.crate, dict(name=name, begun=begun, simulated=True))]
        row = dict(crate=name, seq=1, body=event.model_dump_json(), **crates.columns(event))
        with store.writing() as connection:
            chain.append(connection, [chain.Bundle(rows=[*rows, (tables.crate_event, row)])])
    with Store.open(str(tmp_path / "here.db")) as here:
        refused = files.import_from(here, str(tmp_path / "there.db")).refused
        assert [said.split()[3] for said in refused] == ["crate", "crate_event"]
        assert here.record(run).run == run and here.verify().findings == ()


@pytest.mark.parametrize("own", ["{}", "no JSON", "[]", '{"form": "Z"}', '{"form": 7}'])
def test_a_part_that_makes_no_sense_refuses_the_source(own: str, tmp_path: Path) -> None:
    row = dict(id="P0777", simulated=True, kind="relay", own=own, label="", donor="", notes="", key=777)
    forged(tmp_path / "there.db", tables.part, row)
    with Store.open(str(tmp_path / "here.db")) as store:
        with pytest.raises(FileRefused, match="Nothing was taken in"):
            files.import_from(store, str(tmp_path / "there.db"))
        assert store.parts() == ()


def test_sound_rows_are_all_taken(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "there.db")) as there, Store.open(str(tmp_path / "here.db")) as here:
        fill(there)
        assert files.import_from(here, str(tmp_path / "there.db")).refused == []
