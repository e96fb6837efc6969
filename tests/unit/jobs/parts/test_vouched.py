"""Statements about what a noted head vouches for, and what nothing vouches for: that acts on nothing measured here.

What a forger does behind pulldrop's back is written as pulldrop writes, so that the source's chain holds.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import records
from sqlalchemy import Table
from test_imports import FAILING, SOUND, a_run, as_real, forge, in_file
from test_store import keep

from pulldrop.jobs.parts.imports import import_from
from pulldrop.jobs.parts.rejudge import rejudge
from pulldrop.model.bench.kit import Golden
from pulldrop.model.crate.crate import Bin, CrateEvent, Happened, Placed
from pulldrop.model.origin import Origin
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.run.record import RunRecord
from pulldrop.store import Entry, Store
from pulldrop.store.database import chain, tables
from pulldrop.store.exchange import backups
from pulldrop.store.records import crates, part_events


@pytest.fixture
def here() -> Iterator[Store]:
    with Store.open(":memory:") as store:
        yield store


def head_of(where: Path) -> str:
    with Store.look(str(where)) as store:
        return store.head()


def runs_of(store: Store) -> list[str]:
    return [run.run for line in store.parts() for run in store.runs(line.part.id)]


def kept_at(where: Path) -> str:
    """A store with a run of its own; gives the run."""
    with Store.open(str(where)) as store:
        return keep(store, as_real(a_run(FAILING))).run


@pytest.mark.parametrize("says", ["nothing", "an invented run", "an earlier run"])
def test_a_head_vouches_for_no_run_that_a_later_entry_names_whatever_that_entry_says(
    says: str, here: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = tmp_path / "cabin.db"
    first = kept_at(where)
    head = head_of(where)
    run = {"nothing": None, "an invented run": "20260101T000000-zzzzzz", "an earlier run": first}[says]
    write = chain.append

    def forged(connection: object, bundles: list[chain.Bundle]) -> chain.Head:
        return write(connection, [chain.Bundle(run, one.rows) for one in bundles])  # type: ignore[arg-type]

    with Store.open(str(where)) as store, monkeypatch.context() as patch:
        patch.setattr(chain, "append", forged)
        later = keep(store, as_real(a_run(SOUND))).run
    assert import_from(here, str(where), head=head).new == 2
    assert here.record(first).origin is Origin.ANOTHER_BENCH
    assert here.record(later).origin is Origin.OUTSIDE


def test_an_arrival_written_after_the_head_launders_nothing(here: Store, tmp_path: Path) -> None:
    where = tmp_path / "cabin.db"
    kept_at(where)
    with Store.open(str(where)) as store:
        import_from(store, forge(as_real(a_run(SOUND)), tmp_path))
        head = store.head()
        with store.writing() as connection:
            rows = chain.raw_rows(connection, "arrival")
            (row,) = (one for one in rows if one["kind"] == "run")
            later = {**row, "key": len(rows) + 1, "head": "7:" + "0" * 16}
            chain.append(connection, [chain.Bundle(rows=[(tables.arrival, later)])])
    import_from(here, str(where), head=head)
    origins = {here.record(run).verdict.overall: here.record(run).origin for run in runs_of(here)}
    assert origins == {"fail": Origin.ANOTHER_BENCH, "pass": Origin.OUTSIDE}


def test_a_head_vouches_row_by_row_for_calibrations_too(here: Store, tmp_path: Path) -> None:
    where, real = tmp_path / "cabin.db", records.board("real")
    one = records.calibration_record().model_copy(update={"board": real})
    here.add_calibration(one.model_copy(update={"board": real.model_copy(update={"serial": 99})}))
    with Store.open(str(where)) as store:
        store.add_calibration(one)
        head = store.head()
        other = real.model_copy(update={"serial": real.serial + 1})
        store.add_calibration(one.model_copy(update={"board": other}))
    import_from(here, str(where), head=head)
    assert here.newest_calibration(real) is not None, "the head covers it"
    assert here.newest_calibration(other) is None, "it was written after that head"


def test_a_row_that_two_entries_name_hides_no_row_that_none_does(tmp_path: Path) -> None:
    where = tmp_path / "cabin.db"
    kept_at(where)
    with Store.open(str(where)) as store:
        with store.writing() as connection:
            birth = dict(chain.raw_rows(connection, "birth")[0])
            chain._link(connection, [chain.Bundle(rows=[(tables.birth, birth)])])
            connection.execute(tables.birth.insert(), dict(birth="put in", part=birth["part"]))
        assert any("put in was put in from outside" in one for one in store.verify().findings)


def copied(here: Store, tmp_path: Path) -> Path:
    """What another bench has that took in this store."""
    there = tmp_path / "there.db"
    backups.backup(here, there)
    return there


def test_a_golden_part_keeps_its_baseline_against_a_row_that_nothing_vouches_for(here: Store, tmp_path: Path) -> None:
    run = keep(here, as_real(a_run(SOUND)))
    other = keep(here, as_real(a_run(FAILING)))
    here.mark_golden(Golden(part=run.part.id, run=run.run, marked=run.started))
    there = copied(here, tmp_path)
    with Store.open(str(there)) as store:
        store.mark_golden(Golden(part=run.part.id, run=other.run, marked=run.started))
        store.mark_golden(Golden(part=other.part.id, run=other.run, marked=run.started))
    assert import_from(here, str(there)).other == 2
    kept = here.golden(run.part.id)
    assert kept is not None and kept.run == run.run
    assert here.golden(other.part.id) is None and here.goldens() == (run.part.id,)


def test_a_run_of_a_day_to_come_is_refused_and_one_from_outside_energised_nothing_here(
    here: Store, tmp_path: Path
) -> None:
    one, now = as_real(a_run(SOUND)), datetime.now(UTC)
    for started, ended in ((now + timedelta(days=2), None), (now, datetime(9998, 12, 31, tzinfo=UTC))):
        late = one.model_copy(update={"started": started, "ended": ended})
        (refused,) = import_from(here, in_file(late, tmp_path)).refused
        assert "still to come" in refused
    for moments in ({"started": datetime(2026, 5, 4)}, {"ended": datetime(2026, 5, 4)}):
        (refused,) = import_from(here, in_file(one.model_copy(update=moments), tmp_path)).refused
        assert "no time zone" in refused
    today = one.model_copy(update={"started": now, "ended": now, "run": f"{now:%Y%m%dT%H%M%S}-abcdef"})
    assert import_from(here, in_file(today, tmp_path)).new == 1
    assert not here.energised_since(one.board, now - timedelta(hours=1))
    keep(here, one)
    assert here.energised_since(one.board, one.started - timedelta(hours=1))


def test_an_event_and_a_crate_of_a_day_to_come_are_refused(here: Store, tmp_path: Path) -> None:
    late = datetime.now(UTC) + timedelta(days=2)
    with Store.open(str(tmp_path / "cabin.db")) as store:
        part = keep(store, as_real(a_run(SOUND))).part.id
        store.part_event(PartEvent(part=part, at=late, kind=PartEventKind.NOTE, text="x"))
        with store.writing() as connection:
            crate = dict(name="north", simulated=False, begun=late.isoformat(timespec="microseconds"))
            chain.append(connection, [chain.Bundle(rows=[(tables.crate, crate)])])
    refused = import_from(here, str(tmp_path / "cabin.db")).refused
    assert len(refused) == 2 and all("still to come" in one for one in refused)


def test_no_event_that_nothing_vouches_for_changes_what_a_part_measured_here_is(here: Store, tmp_path: Path) -> None:
    now = datetime.now(UTC)
    one, other = keep(here, as_real(a_run(SOUND))).part.id, keep(here, as_real(a_run(FAILING))).part.id
    place = here.part_event(PartEvent(part=one, at=now, kind=PartEventKind.FITTED, place="door valve"))
    there = copied(here, tmp_path)
    with Store.open(str(there)) as store:
        store.part_event(PartEvent(part=one, at=now, kind=PartEventKind.WITHDRAWN, withdraws=place.id))
        store.part_event(PartEvent(part=one, at=now, kind=PartEventKind.DESCRIBED, card=Card(description="forged")))
        store.part_event(PartEvent(part=one, at=now, kind=PartEventKind.NAMED, name=other))
        store.part_event(PartEvent(part=other, at=now, kind=PartEventKind.JOINED, into=one))
        store.part_event(PartEvent(part=one, at=now, kind=PartEventKind.NOTE, text="seen there"))
        store.part_event(PartEvent(part=one, at=now, kind=PartEventKind.CLEANED))
        sound = as_real(a_run(SOUND))
        part = sound.part.model_copy(update={"id": "4K7RT", "births": ()})
        new = keep(store, sound.model_copy(update={"part": part})).part.id
        store.part_event(PartEvent(part=new, at=now, kind=PartEventKind.NOTE, text="of its own"))
        forged = PartEvent(part=new, at=now, kind=PartEventKind.WITHDRAWN, withdraws=place.id)
        with store.writing() as connection:
            row = part_events.row(forged, False, now)
            chain.append(connection, [chain.Bundle(rows=[(tables.part_event, row)])])
        head = store.head()
    taken = import_from(here, str(there))
    assert len(taken.refused) == 7 and all("--head" in said and "by hand" in said for said in taken.refused)
    assert [event.kind for event in here.events_ever(one)] == ["fitted"]
    assert {line.part.id for line in here.parts()} == {one, other, new}
    assert import_from(here, str(there), head=head).refused == []
    assert {line.part.id for line in here.parts()} == {one, new}, "the head vouches for it"


def test_no_run_that_nothing_vouches_for_describes_a_part_measured_here_anew(here: Store, tmp_path: Path) -> None:
    own = as_real(a_run(SOUND))
    kept = keep(here, own.model_copy(update={"part": own.part.model_copy(update={"label": "horn"})}))
    there = copied(here, tmp_path)
    with Store.open(str(there)) as store:
        part = kept.part.model_copy(update={"label": "forged", "donor": "forged"})
        keep(store, own.model_copy(update={"part": part, "started": own.started + timedelta(seconds=1)}))
        head = store.head()
    assert import_from(here, str(there)).new == 1
    assert here.part(kept.part.id).part.label == "horn"
    with Store.open(str(tmp_path / "other.db")) as other:
        keep(other, kept)
        assert import_from(other, str(there), head=head).new >= 1
        assert other.part(kept.part.id).part.label == "forged", "the head vouches for it"


def test_no_birth_that_nothing_vouches_for_becomes_one_of_a_part_measured_here(here: Store, tmp_path: Path) -> None:
    kept = keep(here, as_real(a_run(SOUND)))
    known = here.part(kept.part.id).part.births
    there = tmp_path / "cabin.db"
    forged = "20260504T093015-forged0123456789"
    with Store.open(str(there)) as store:
        part = kept.part.model_copy(update={"births": (*known, forged)})
        keep(store, as_real(a_run(SOUND)).model_copy(update={"part": part}))
        head = store.head()
    assert import_from(here, str(there)).new == 1
    assert here.part(kept.part.id).part.births == known
    import_from(here, str(there), head=head)
    assert set(here.part(kept.part.id).part.births) == {*known, forged}, "the head vouches for it"


def written(where: Path, table: Table, **row: object) -> None:
    """A row that somebody wrote as pulldrop writes, so that the chain holds."""
    with Store.open(str(where)) as store, store.writing() as connection:
        chain.append(connection, [chain.Bundle(rows=[(table, row)])])


def test_a_birth_written_after_the_head_brings_no_run_to_a_part_of_ours(here: Store, tmp_path: Path) -> None:
    ours = keep(here, as_real(a_run(FAILING))).part.id
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        theirs = keep(store, as_real(a_run(SOUND)))
        head = store.head()
    written(there, tables.birth, birth=here.part(ours).part.births[0], part=theirs.part.id)
    assert import_from(here, str(there), head=head).new == 1
    assert here.record(theirs.run).part.id != ours and len(here.runs(ours)) == 1


def test_an_event_or_a_run_written_after_the_head_brings_no_run_to_a_part_of_ours(here: Store, tmp_path: Path) -> None:
    failed = keep(here, as_real(a_run(FAILING)))
    note = here.part_event(PartEvent(part=failed.part.id, at=datetime.now(UTC), kind=PartEventKind.NOTE, text="x"))
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        theirs = keep(store, as_real(a_run(SOUND)))
        head = store.head()
    forged = note.model_copy(update={"part": theirs.part.id})
    row = part_events.row(forged, False, datetime.now(UTC))
    written(there, tables.part_event, **{**row, "id": note.id, "body": forged.model_dump_json()})
    assert import_from(here, str(there), head=head).new == 1
    assert here.record(theirs.run).part.id != failed.part.id and len(here.runs(failed.part.id)) == 1


def test_no_join_that_nothing_vouches_for_is_taken(here: Store, tmp_path: Path) -> None:
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        bad, good = (keep(store, as_real(a_run(one))).part.id for one in (FAILING, SOUND))
        head = store.head()
        store.part_event(PartEvent(part=good, at=datetime.now(UTC), kind=PartEventKind.JOINED, into=bad))
        later = store.head()
    for given in (head, ""):
        (said,) = import_from(here, str(there), head=given).refused
        assert "one part" in said and len(here.parts()) == 2
    assert import_from(here, str(there), head=later).refused == [] and len(here.parts()) == 1
    assert here.verify().findings == ()


def test_a_head_noted_later_does_not_hide_that_other_rules_judged(here: Store, tmp_path: Path) -> None:
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        run = keep(store, as_real(a_run(SOUND)).model_copy(update={"software": "pulldrop 9.9"})).run
        head = store.head()
    import_from(here, str(there))
    assert here.record(run).origin is Origin.OUTSIDE_NOT_JUDGED
    import_from(here, str(there), head=head)
    assert here.record(run).origin is Origin.BENCH_NOT_JUDGED


def placed(number: int, part: str, run: str, bin: Bin) -> CrateEvent:
    one = Placed(number=number, part=part, run=run, bin=bin, reasons=(), figures=(), at=records.STARTED)
    return CrateEvent(kind=Happened.PLACED, at=records.STARTED, number=number, run=run, placed=one)


def crated(store: Store, record: RunRecord, bin: Bin) -> None:
    store.crate("Box 1", record.simulated, records.STARTED)
    store.crate_event(Entry("Box 1", 1, placed(1, record.part.id, record.run, bin)))


def test_nothing_comes_into_a_crate_of_ours_that_no_head_vouches_for(here: Store, tmp_path: Path) -> None:
    bad = keep(here, as_real(a_run(FAILING)))
    crated(here, bad, Bin.SCRAP)
    there = copied(here, tmp_path)
    with Store.open(str(there)) as store:
        before = store.head()
        undone = CrateEvent(kind=Happened.UNDONE, at=records.STARTED, number=1)
        store.crate_event(Entry("Box 1", 2, undone))
        store.crate_event(Entry("Box 1", 3, placed(1, bad.part.id, bad.run, Bin.KEEP)))
        after = store.head()
    for head in ("", before):
        refused = import_from(here, str(there), head=head).refused
        assert len(refused) == 2 and all("begun here" in one for one in refused)
        assert len(here.crate_events("Box 1")) == 1
    assert import_from(here, str(there), head=after).refused == [] and len(here.crate_events("Box 1")) == 3


def test_a_strange_crate_of_the_same_name_adds_nothing_to_ours(here: Store, tmp_path: Path) -> None:
    crated(here, keep(here, as_real(a_run(FAILING))), Bin.SCRAP)
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        good = keep(store, as_real(a_run(SOUND)))
        store.crate("Box 1", False, records.STARTED + timedelta(days=1))
        for number in (1, 2):
            store.crate_event(Entry("Box 1", number, placed(number, good.part.id, good.run, Bin.KEEP)))
        head = store.head()
    for given in ("", head):
        assert any("Box 1" in one for one in import_from(here, str(there), head=given).refused)
        assert len(here.crate_events("Box 1")) == 1


def test_a_crate_called_real_takes_no_part_that_was_simulated(here: Store, tmp_path: Path) -> None:
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        virtual = keep(store, a_run(SOUND))
        store.crate("Box 7", False, records.STARTED)
        store.crate_event(Entry("Box 7", 1, placed(1, virtual.part.id, virtual.run, Bin.KEEP)))
        head = store.head()
    assert any("simulated" in one for one in import_from(here, str(there), head=head).refused)
    assert here.crate_events("Box 7") == ()


def test_an_event_names_its_parts_however_its_text_is_spaced(here: Store, tmp_path: Path) -> None:
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        run = keep(store, as_real(a_run(SOUND)))
        store.crate("Box 1", False, records.STARTED)
    event = placed(1, "NOSUCH1", run.run, Bin.KEEP)
    body = event.model_dump_json().replace('"part":', '"part": ')
    written(there, tables.crate_event, crate="Box 1", seq=1, body=body, **crates.columns(event))
    (said,) = import_from(here, str(there)).refused
    assert "No part there is called 'NOSUCH1'" in said and here.crate_events("Box 1") == ()


def test_a_later_judgement_of_a_run_measured_here_needs_a_head(here: Store, tmp_path: Path) -> None:
    run = keep(here, as_real(a_run(FAILING)))
    there = copied(here, tmp_path)
    with Store.open(str(there)) as store:
        rejudge(store, run.run, run.plan, datetime.now(UTC), "boss")
        head = store.head()
    (said,) = import_from(here, str(there)).refused
    assert "measured here" in said and here.judgements(run.run) == ()
    assert import_from(here, str(there), head=head).refused == [] and len(here.judgements(run.run)) == 1


def test_no_id_that_nothing_vouches_for_names_a_part_measured_here(here: Store, tmp_path: Path) -> None:
    ours = keep(here, as_real(a_run(SOUND))).part
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        known = here.part(ours.id).part.births
        theirs = ours.model_copy(update={"id": "26P-17", "births": known})
        keep(store, as_real(a_run(FAILING)).model_copy(update={"part": theirs}))
    (said,) = import_from(here, str(there)).renamed
    assert "26P-17" in said and "--head" in said
    assert [one.kind for one in here.events_ever(ours.id)] == []


def test_a_number_of_a_crate_that_no_database_takes_is_refused(here: Store, tmp_path: Path) -> None:
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        run = keep(store, as_real(a_run(SOUND)))
        store.crate("Box 1", False, records.STARTED)
        store.crate_event(Entry("Box 1", 1, placed(99999999999, run.part.id, run.run, Bin.KEEP)))
    (said,) = import_from(here, str(there)).refused
    assert "whole number" in said and here.crate_events("Box 1") == ()


def test_an_event_of_a_simulated_part_comes_to_none_that_is_called_real(here: Store, tmp_path: Path) -> None:
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        part = store.new_part(a_run(SOUND).part.model_copy(update={"id": "LONE1", "births": ()}), False)
    row = part_events.row(
        PartEvent(part=part.id, at=records.STARTED, kind=PartEventKind.NOTE, text="x"), True, records.STARTED
    )
    written(there, tables.part_event, **row)
    (said,) = import_from(here, str(there)).refused
    assert "simulated" in said and here.events_ever("LONE1") == ()
