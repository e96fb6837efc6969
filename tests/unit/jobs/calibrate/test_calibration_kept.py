"""Which calibration a run uses: the newest of the board's own, never a simulated one for a real board; golden parts."""

import json
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import records
from sqlalchemy.exc import IntegrityError

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.jobs.parts.golden import NoGolden, drift, mark, with_drift
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.calibration import in_force
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.events import Event, RunStarted
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.bench.identity import Identity
from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.plant.bench import instruments
from pulldrop.report.html import page
from pulldrop.store import NotKept, Store

NOW = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
GOOD = "good-12v-changeover"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(str(tmp_path / "depot.db")) as opened:
        yield opened


@pytest.fixture(scope="module")
def virtual() -> CalibrationRecord:
    with VirtualBoard(instruments.empty(), 5) as board:
        return calibrate_board(board, 5)


def taken(record: CalibrationRecord, board: Identity, at: datetime = NOW) -> CalibrationRecord:
    """The same, as if it had been taken on another board or day."""
    update = {"board_serial": board.serial, "simulated": board.simulated, "taken_at": at}
    calibration = record.calibration.model_copy(update=update)
    return record.model_copy(update={"calibration": calibration, "board": board})


def test_without_a_calibration_a_bench_is_uncalibrated(store: Store) -> None:
    calibration, warnings = in_force(store, records.board("real"), NOW)
    assert not calibration.calibrated and not warnings


def test_a_calibration_is_read_back_as_it_was_written(store: Store, virtual: CalibrationRecord) -> None:
    store.add_calibration(virtual)
    assert store.calibrations() == (virtual,)


def test_the_newest_calibration_of_the_board_is_used(store: Store, virtual: CalibrationRecord) -> None:
    real = records.board("real")
    for days in (30, 2, 90):
        store.add_calibration(taken(virtual, real, NOW - timedelta(days=days)))
    calibration, warnings = in_force(store, real, NOW)
    assert calibration.taken_at == NOW - timedelta(days=2)
    assert not warnings
    assert len(store.calibrations()) == 3, "those before it stay"


@pytest.mark.parametrize("kind", ["virtual", "emulated"])
def test_a_simulated_calibration_never_serves_a_real_board(store: Store, virtual: CalibrationRecord, kind: str) -> None:
    store.add_calibration(taken(virtual, records.board(kind)))
    calibration, _ = in_force(store, records.board("real"), NOW)
    assert records.board(kind).serial == records.board("real").serial
    assert not calibration.calibrated


def test_a_simulated_calibration_in_a_real_boards_row_is_still_not_used(
    store: Store, virtual: CalibrationRecord
) -> None:
    real = records.board("real")
    forged = taken(virtual, real).model_copy(
        update={"calibration": virtual.calibration.model_copy(update={"board_serial": real.serial})}
    )
    store.add_calibration(forged)
    calibration, warnings = in_force(store, real, NOW)
    assert not calibration.calibrated
    assert "not of this board" in warnings[0]


def test_another_board_warns_and_is_uncalibrated(store: Store, virtual: CalibrationRecord) -> None:
    real = records.board("real")
    store.add_calibration(taken(virtual, real))
    calibration, warnings = in_force(store, real.model_copy(update={"serial": 18}), NOW)
    assert not calibration.calibrated
    assert "board 17" in warnings[0] and "board 18" in warnings[0]


@pytest.mark.parametrize(("days", "old"), [(364, False), (366, True)])
def test_a_calibration_older_than_a_year_warns_and_is_still_used(
    store: Store, virtual: CalibrationRecord, days: int, old: bool
) -> None:
    real = records.board("real")
    store.add_calibration(taken(virtual, real, NOW - timedelta(days=days)))
    calibration, warnings = in_force(store, real, NOW)
    assert calibration.calibrated
    assert [f"{days} days old" in one for one in warnings] == [True] * old


def test_a_calibration_from_the_future_warns_of_the_computers_clock(store: Store, virtual: CalibrationRecord) -> None:
    real = records.board("real")
    store.add_calibration(taken(virtual, real, NOW + timedelta(days=2)))
    assert "clock" in in_force(store, real, NOW)[1][0]


def test_what_was_left_out_is_told_at_every_run(store: Store, virtual: CalibrationRecord) -> None:
    real = records.board("real")
    store.add_calibration(taken(virtual, real).model_copy(update={"left_out": ("coil amps: no resistor was used.",)}))
    assert in_force(store, real, NOW)[1] == ("coil amps: no resistor was used.",)


def test_nominal_values_are_not_kept_as_a_calibration(store: Store, virtual: CalibrationRecord) -> None:
    with pytest.raises(ValueError, match="nominal"):
        store.add_calibration(
            virtual.model_copy(update={"calibration": virtual.calibration.model_copy(update={"taken_at": None})})
        )


@pytest.mark.parametrize("change", ["DELETE FROM calibration", "UPDATE calibration SET taken_at = 'never'"])
def test_a_kept_calibration_cannot_be_changed(store: Store, virtual: CalibrationRecord, change: str) -> None:
    store.add_calibration(virtual)
    with sqlite3.connect(str(store.file)) as raw, pytest.raises(sqlite3.IntegrityError, match="append only"):
        raw.execute(change)


# --- golden parts ---


def run_of(store: Store, part: str, *, seed: int = 5, calibrated: bool = True, worn: float = 0.0) -> RunRecord:
    """One run of a good relay (or one whose coil has `worn` by so many percent) on a virtual bench."""
    specimen = specimens.find(GOOD).specimen
    given = specimen.model_dump()
    given["faults"]["coil_ohm_percent"] = worn
    specimen = type(specimen).model_validate(given)
    with VirtualBoard(instruments.empty(), seed) as board:
        if calibrated:
            store.add_calibration(calibrate_board(board, seed))
        board.insert(specimen)
        plan = plan_for_specimen(specimen)
        return run_one(Task(plan, Relay(id=part, form="C"), seed=seed), board, store, lambda _: None)


def test_a_run_uses_the_calibration_in_the_store_and_carries_less_uncertainty(store: Store) -> None:
    told: list[Event] = []
    specimen = specimens.find(GOOD).specimen
    with VirtualBoard(specimen, 5) as board:
        plan = plan_for_specimen(specimen)
        before = run_one(Task(plan, Relay(id="P1", form="C")), board, store, told.append)
    after = run_of(store, "P1")
    assert not before.calibration.calibrated and after.calibration.calibrated
    assert store.record(after.run).calibration == store.calibrations()[-1].calibration
    assert isinstance(told[0], RunStarted)

    def u(record: RunRecord) -> float:
        return next(one.finding.expanded_uncertainty for one in record.judged if one.id == "coil_resistance")  # type: ignore[union-attr]  # a number on a good part

    assert u(after) < 0.3 * u(before)


def test_a_golden_part_that_reads_as_before_says_nothing(store: Store) -> None:
    run_of(store, "G1")
    mark(store, "G1", NOW)
    assert drift(store, run_of(store, "G1")) == ()


def test_a_golden_part_that_reads_otherwise_warns_which_reading_moved(store: Store) -> None:
    run_of(store, "G1")
    mark(store, "G1", NOW)
    told = drift(store, run_of(store, "G1", worn=2.0))
    assert "drifted" in told[0] and "2026-05-04" in told[0]
    assert any(one.startswith("coil resistance at 20 degC:") for one in told)


def test_the_warning_is_in_the_record_for_whoever_reads_it(store: Store) -> None:
    run_of(store, "G1")
    mark(store, "G1", NOW)
    record = with_drift(store, run_of(store, "G1", worn=2.0))
    assert record.warnings and "drifted" in json.loads(record.model_dump_json())["warnings"][0]
    assert "drifted, or the part was changed" in page([record])
    assert with_drift(store, store.record(record.run)).warnings == record.warnings


def test_an_ordinary_part_is_compared_with_nothing(store: Store) -> None:
    run_of(store, "P1")
    assert drift(store, run_of(store, "P1", worn=10.0)) == ()


def test_a_part_is_golden_only_after_a_calibration(store: Store) -> None:
    run_of(store, "G1", calibrated=False)
    with pytest.raises(NoGolden, match="uncalibrated"):
        mark(store, "G1", NOW)


def test_a_part_that_was_never_tested_cannot_be_golden(store: Store) -> None:
    with pytest.raises(NotKept):
        mark(store, "G9", NOW)


def test_the_last_mark_of_a_part_counts(store: Store) -> None:
    run_of(store, "G1")
    mark(store, "G1", NOW)
    later = run_of(store, "G1", worn=2.0)
    assert mark(store, "G1", NOW + timedelta(days=1))[0].run == later.run
    assert drift(store, run_of(store, "G1", worn=2.0)) == ()


def test_a_mark_names_a_run_that_exists(store: Store) -> None:
    run_of(store, "G1")
    golden, _ = mark(store, "G1", NOW)
    with pytest.raises(IntegrityError):
        store.mark_golden(golden.model_copy(update={"run": "no such run"}))
