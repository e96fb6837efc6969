"""Statements about what comes from outside: what was altered is refused, and nothing that came reads as measured here.

The runs are made by the virtual board; one that is called real is of a forger, who wrote that into the record.
"""

import csv
import json
import random
import tracemalloc
import zlib
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import databases
import edits
import pytest
import records
from test_store import header

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.parts.imports import import_from, judged_again
from pulldrop.jobs.parts.rejudge import judged_by
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.judge.verdict import refused
from pulldrop.model.origin import Origin
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.model.wording import words
from pulldrop.model.wording.harmless import MARK
from pulldrop.report import data
from pulldrop.report.html import page
from pulldrop.store import RunHeader, Store, StoreError
from pulldrop.store.database import chain, tables
from pulldrop.store.exchange import merge
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.origins import Checked, ImportResult, Origins
from pulldrop.store.exchange.records_file import FileRefused
from pulldrop.store.records import read

FAILING, SOUND, TRIPPING = "burnt-no", "good-12v-changeover", "shorted-coil"


def keep_runs(store: Store, *parts: str, on: type[VirtualBoard] | type[EveningBoard] = VirtualBoard) -> list[RunRecord]:
    made = []
    for name in parts:
        thing = find(name)
        plan = plan_for_specimen(thing.specimen)
        with on(thing.specimen, seed=5) as board:
            made.append(run_one(Task(plan, plan.rating.part(""), specimen=thing.text), board, store, lambda _: None))
    return made


@cache
def a_run(name: str) -> RunRecord:
    with Store.open(":memory:") as store:
        return keep_runs(store, name)[0]


def test_a_run_whose_plan_was_fitted_to_its_build_is_judged_again(here: Store) -> None:
    (run,) = keep_runs(here, SOUND, on=EveningBoard)
    assert run.plan.left_out
    assert judged_again(run) == Checked()
    claimed = run.board.model_copy(update={"build": "full"})
    assert "do not follow" in judged_again(run.model_copy(update={"board": claimed})).refused


@pytest.fixture
def here() -> Iterator[Store]:
    with Store.open(":memory:") as store:
        yield store


@pytest.fixture
def there(tmp_path: Path) -> tuple[str, list[RunRecord]]:
    """Another bench's store, of a part that failed and one that passed."""

    def fill(store: Store) -> list[RunRecord]:
        return keep_runs(store, FAILING, SOUND)

    return databases.filled("sqlite", tmp_path, fill)


def in_file(record: RunRecord | dict[str, Any], folder: Path) -> str:
    file = folder / "record.json"
    file.write_text(json.dumps(record) if isinstance(record, dict) else record.model_dump_json())
    return str(file)


def forge(record: RunRecord, folder: Path) -> str:
    """A store whose chain holds, with a record in it that nobody measured so."""
    where = str(folder / "forged.db")
    with Store.open(where) as store:
        origins = Origins("a forger", lambda _: Checked())
        merge.import_runs(store.engine, store.name, [record], Arrivals("a forger"), ImportResult(), origins)
    return where


def as_real(record: RunRecord) -> RunRecord:
    return record.model_copy(update={"board": record.board.model_copy(update={"kind": "real"})})


def test_what_the_judge_said_of_any_part_follows_again_from_its_readings() -> None:
    for name in (FAILING, SOUND, TRIPPING, "welded-no", "open-coil"):
        assert judged_again(a_run(name)) == Checked(), name


def test_fails_that_became_passes_in_the_source_are_refused_by_name(
    here: Store, there: tuple[str, list[RunRecord]]
) -> None:
    where, (failed, passed) = there
    with databases.behind(where) as plain, databases.unguarded(plain, "run_end", "measurement"):
        plain.exec_driver_sql(f"UPDATE run_end SET overall = 'pass' WHERE run = '{failed.run}'")
        plain.exec_driver_sql(f"UPDATE measurement SET value = value * 0.5 WHERE run = '{failed.run}'")
    taken = import_from(here, where)
    assert taken.new == 1 and any(f"Run {failed.run} was not taken in." in one for one in taken.refused)
    assert [run.run for line in here.parts() for run in here.runs(line.part.id)] == [passed.run]
    with pytest.raises(FileRefused, match="Nothing was taken in"), Store.open(":memory:") as other:
        import_from(other, where, all_or_nothing=True)


def test_a_source_whose_triggers_are_gone_is_refused_whole(here: Store, there: tuple[str, list[RunRecord]]) -> None:
    with databases.behind(there[0]) as plain:
        plain.exec_driver_sql("DROP TRIGGER run_no_update")
    with pytest.raises(FileRefused, match="trigger run_no_update is missing"):
        import_from(here, there[0])
    assert here.parts() == ()


def test_a_forger_who_mends_the_chain_is_found_by_the_verdict(here: Store, tmp_path: Path) -> None:
    failed, passed = a_run(FAILING), a_run(SOUND)
    forged = failed.model_copy(update={"verdict": passed.verdict, "faults": ()})
    taken = import_from(here, forge(forged, tmp_path))
    assert taken.new == 0 and "does not follow from its outcomes" in taken.refused[0]
    one = next(j for j in failed.judged if j.outcome == "fail")
    better = one.model_copy(update={"outcome": Outcome.PASS, "reason": "inside"})
    judged = tuple(better if j is one else j for j in failed.judged)
    (tmp_path / "forged.db").unlink()
    taken = import_from(here, forge(forged.model_copy(update={"judged": judged}), tmp_path))
    assert taken.new == 0 and f"Its {one.id} says 'pass'" in taken.refused[0]


def screens_of(store: Store, run: str, folder: Path) -> str:
    """What a person may see of a run."""
    record = store.record(run)
    (line,) = [one for one in store.runs(record.part.id) if one.run == run]
    data.write(folder / "run.csv", [record])
    with (folder / "run.csv").open(newline="") as file:
        assert {row["origin"] for row in csv.DictReader(file)} == {str(record.origin)}
    return " ".join((page([record]), words.banner(record), words.mark(line.origin), record.model_dump_json()))


def test_a_careful_forgery_is_taken_and_reads_from_outside_on_every_screen(here: Store, tmp_path: Path) -> None:
    real = as_real(a_run(SOUND))
    assert import_from(here, forge(real, tmp_path)).new == 1
    assert here.record(real.run).origin is Origin.OUTSIDE
    seen = screens_of(here, real.run, tmp_path)
    assert seen.count("FROM OUTSIDE, UNVERIFIED") > 3 and '"origin":"from outside, unverified"' in seen
    assert "measured here" not in seen.replace("Not measured here", "")


def test_a_noted_head_vouches_for_a_store_and_only_for_what_it_covers(here: Store, tmp_path: Path) -> None:
    first = as_real(a_run(SOUND))
    later = first.model_copy(update={"run": "20260504T093015-00000f"})
    where = str(tmp_path / "cabin.db")
    with Store.open(where) as cabin:
        origins = Origins("invented", lambda _: Checked())
        header = {
            name: getattr(first, name) for name in ("part", "started", "plan", "board", "calibration", "software")
        }
        with cabin.run(RunHeader(**header)) as run:
            for one in first.judged:
                run.add(one)
            kept = run.finish(first.verdict, first.ended, first.bench_s, first.faults)
        head = cabin.head()
        merge.import_runs(cabin.engine, cabin.name, [later], Arrivals("x"), ImportResult(), origins)
    assert import_from(here, where).new == 2
    assert here.record(kept.run).origin is Origin.OUTSIDE
    assert import_from(here, where, head=head).known == 2
    assert here.record(kept.run).origin is Origin.ANOTHER_BENCH
    assert here.record(later.run).origin is Origin.OUTSIDE, "it was written after that head"
    assert here.verify().findings == ()
    with pytest.raises(FileRefused, match="rewritten"):
        import_from(here, where, head=head[:-1] + ("0" if head[-1] != "0" else "1"))


def test_a_calibration_from_outside_serves_no_board(here: Store, tmp_path: Path) -> None:
    record = records.calibration_record()
    real = record.model_copy(update={"board": records.board("real")})
    with Store.open(str(tmp_path / "cabin.db")) as cabin:
        cabin.add_calibration(real)
    assert import_from(here, str(tmp_path / "cabin.db")).other == 1
    assert [one.origin for one in here.calibrations()] == [Origin.OUTSIDE]
    assert here.newest_calibration(records.board("real")) is None


def test_a_run_that_other_rules_judged_says_so(here: Store, tmp_path: Path) -> None:
    other = a_run(SOUND).model_copy(update={"software": "pulldrop 0.0.7"})
    assert import_from(here, in_file(other, tmp_path)).new == 1
    assert "judged by pulldrop 0.0.7 and not judged again" in words.origin_in_words(here.record(other.run))


def test_a_run_that_stands_twice_in_a_file_is_taken_once(here: Store, tmp_path: Path) -> None:
    file, text = tmp_path / "twice.json", a_run(SOUND).model_dump_json()
    file.write_text(f"[{text},{text}]")
    taken = import_from(here, str(file))
    assert taken.new == 1 and "stands there twice" in taken.refused[0]


@pytest.mark.parametrize("birth", ["", "\x1b[2J", "x" * 1000])
def test_a_birth_that_no_part_gets_is_refused(here: Store, tmp_path: Path, birth: str) -> None:
    made = json.loads(a_run(SOUND).model_dump_json())
    made["part"]["births"] = [birth]
    taken = import_from(here, in_file(made, tmp_path))
    assert taken.new == 0 and "no birth of a part" in taken.refused[0] and here.verify().findings == ()


@pytest.mark.parametrize("field", ["donor", "label"])
def test_a_text_of_more_than_one_line_would_put_words_at_the_rim(here: Store, tmp_path: Path, field: str) -> None:
    made = json.loads(a_run(SOUND).model_dump_json())
    made["part"][field] = "bus 12\n[+] pass  measured here"
    taken = import_from(here, in_file(made, tmp_path))
    assert taken.new == 1
    (line,) = here.parts()
    assert getattr(line.part, field) == f"bus 12{MARK}[+] pass  measured here"


@pytest.mark.parametrize("lax", ["limit", "no limit", "wanted", "steps"])
def test_a_plan_that_does_not_follow_from_its_protocol_and_rating_is_refused(
    here: Store, tmp_path: Path, lax: str
) -> None:
    failed = a_run(FAILING)
    plan, id = failed.plan, next(one.id for one in failed.judged if one.outcome == "fail")
    easy = {**plan.limits, id: plan.limits[id].model_copy(update={"high": 50.0})}
    update: dict[str, Any] = {
        "limit": dict(limits=easy),
        "no limit": dict(limits={of: one for of, one in plan.limits.items() if of != id}),
        "wanted": dict(wanted=tuple(one for one in plan.wanted if one != id)),
        "steps": dict(steps=plan.steps[:-1]),
    }[lax]
    judged, faults, said = judged_by(failed, plan.model_copy(update=update), None)
    again = [one.model_dump() | {"finding": was.finding} for one, was in zip(judged, failed.judged, strict=True)]
    forged = failed.model_copy(
        update=dict(
            plan=plan.model_copy(update=update), judged=tuple(map(Judged.model_validate, again)), faults=faults,
            verdict=said,
        )
    )  # fmt: skip
    taken = import_from(here, in_file(forged, tmp_path))
    assert taken.new == 0 and "do not follow from its protocol and rating" in taken.refused[0]


def test_two_readings_of_one_measurement_are_refused(here: Store, tmp_path: Path) -> None:
    record = a_run(SOUND)
    taken = import_from(
        here, in_file(record.model_copy(update={"judged": (*record.judged, record.judged[0])}), tmp_path)
    )
    assert taken.new == 0 and "two readings" in taken.refused[0]


@pytest.mark.parametrize("words_of", ["title", "advice"])
def test_a_part_that_was_refused_has_its_fault_in_the_words_of_the_rules(
    here: Store, tmp_path: Path, words_of: str
) -> None:
    tripped = a_run(TRIPPING)
    faults = tuple(one.model_copy(update={words_of: "hold it by hand"}) for one in tripped.faults)
    assert faults
    said = refused(tripped.judged[0].reason, faults)
    forged = tripped.model_copy(update={"faults": faults, "verdict": said})
    taken = import_from(here, in_file(forged, tmp_path))
    assert taken.new == 0 and "does not follow" in taken.refused[0]


EDGES = ("0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "0001-01-01T00:00:00+00:00")


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("moment", ["started", "ended", "taken_at"])
def test_a_moment_that_nobody_can_reckon_with_is_refused(here: Store, tmp_path: Path, edge: str, moment: str) -> None:
    made = json.loads(as_real(a_run(SOUND)).model_dump_json()) | {"software": "pulldrop 0.0"}
    (made["calibration"] if moment == "taken_at" else made)[moment] = edge
    taken = import_from(here, in_file(made, tmp_path))
    assert taken.new == 0 and ("cannot be kept" in taken.refused[0] or "It is of " in taken.refused[0])


def test_raw_data_that_unpack_to_no_end_refuse_their_run_alone(here: Store, tmp_path: Path) -> None:
    big = read.MOST_RAW * 4
    there = tmp_path / "cabin.db"
    with Store.open(str(there)) as store:
        sound = keep_runs(store, SOUND)[0]
        run = store.run(header(sound)).id
        row = dict(run=run, sha256="0" * 64, body=zlib.compress(bytes(big)))
        with store.writing() as connection:
            chain.append(connection, [chain.Bundle(run, [(tables.raw, row)])])
    tracemalloc.start()
    taken = import_from(here, str(there))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < big and taken.new == 1
    (said,) = taken.refused
    assert said.startswith(f"Run {run} was not taken in. It cannot be read back (raw data")


UNKEPT: list[tuple[dict[str, Any], str]] = [
    ({"run": ""}, "no id of a run"), ({"run": "../../../x"}, "no id of a run"), ({"run": "x" * 100_000}, "no id"),
    ({"run": "20260504T093015-\x1b[2J"}, "no id of a run"), ({"bench_s": float("nan")}, "time on the bench is nan"),
    ({"bench_s": 1.7e308}, "finite number below"), ({"seed": 2**63}, "seed is 9223372036854775808"),
    ({"seed": 10**30}, "whole number"), ({"operator": "a\0b"}, "no text that a store keeps"),
    ({"software": "x" * 2_000_000}, "no text that a store keeps"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "says"), UNKEPT, ids=lambda one: str(one)[:40])
def test_what_a_store_cannot_keep_is_refused_in_a_sentence(
    here: Store, tmp_path: Path, change: dict[str, Any], says: str
) -> None:
    made = {**json.loads(a_run(SOUND).model_dump_json()), **change}
    taken = import_from(here, in_file(made, tmp_path))
    assert taken.new == 0 and says in taken.refused[0]
    assert len(taken.refused[0]) < 250 and here.parts() == ()


def test_a_value_that_would_break_every_sum_is_refused(here: Store, tmp_path: Path) -> None:
    made = json.loads(a_run(SOUND).model_dump_json())
    one = next(one for one in made["judged"] if one["finding"].get("value"))
    one["finding"]["value"] = 1.7e308
    taken = import_from(here, in_file(made, tmp_path))
    assert taken.new == 0 and "finite number below" in taken.refused[0]


@pytest.mark.parametrize("field", ["u", "value"])
@pytest.mark.parametrize("figure", [1e300, 1e-300, 0.0, -12.0])
def test_figures_that_nobody_could_measure_are_taken_or_refused_and_hurt_nothing(
    here: Store, tmp_path: Path, field: str, figure: float
) -> None:
    """Of a budget's term or a condition: 1e300 V of the coil, or an uncertainty whose square is no number."""
    made = json.loads(a_run(SOUND).model_dump_json())
    for one in made["judged"]:
        for inner in (*one["finding"].get("budget", []), *one["finding"].get("conditions", [])):
            if isinstance(inner.get(field), float):
                inner[field] = figure
    taken = ImportResult()
    with suppress(StoreError):
        taken = import_from(here, in_file(made, tmp_path))
    assert taken.new == 0 or (field, figure) != ("u", 1e300)
    assert here.verify().findings == () and len(here.parts()) == taken.new


@pytest.mark.slow
def test_no_edit_of_one_field_or_two_makes_a_record_read_as_measured_here(tmp_path: Path) -> None:
    """Fields and pairs of fields drawn at random; half of them of a record that calls itself real."""
    chance = random.Random(7)
    whole = [json.loads(one.model_dump_json()) for one in (a_run(SOUND), as_real(a_run(SOUND)))]
    fields = list(edits.leaves(whole[0]))
    single: list[edits.Edits] = [[(at, chance.choice(edits.CHANGES))] for at in fields]
    seen, wrong = edits.tried(whole, [*single, *edits.pairs(fields, 60, chance)], tmp_path)
    assert wrong == [] and min(seen["taken"], seen["refused"]) > 20, (seen, wrong)
    assert whole[0]["verdict"]["overall"] == Overall.PASS
