"""Statements about a part's health from its store: which runs speak, and what stands first."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import records

from pulldrop.jobs.parts.health import health
from pulldrop.jobs.parts.keep import withdraw
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.store import NotKept, RunHeader, Store

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def run(months: int, drop_v: float, overall: Overall = Overall.PASS) -> RunRecord:
    """A run of P0001 some months after the first, with this contact drop."""
    judged = []
    for one in records.good():
        if one.id == "contact_drop_no":
            one = one.model_copy(update={"finding": records.reading("contact_drop_no", drop_v, 4e-4)})
        judged.append(one)
    made = records.record(overall, tuple(judged))
    return made.model_copy(update={"started": records.STARTED + timedelta(days=30 * months)})


def keep(store: Store, record: RunRecord) -> None:
    header = RunHeader(**{name: getattr(record, name) for name in RunHeader.model_fields})
    with store.run(header) as writing:
        for judged in record.judged:
            writing.add(judged)
        if record.verdict.overall is not Overall.INTERRUPTED:
            writing.finish(record.verdict, record.started + timedelta(seconds=14), 12.0)


def test_the_worst_measurement_stands_first(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "s.db")) as store:
        for number in range(7):
            keep(store, run(number, 0.03 + 0.012 * number))
        found = health(store, "p0001", NOW)
    first = found.findings[0]
    assert first.series.id == "contact_drop_no" and first.worse and found.says[0] == first.says
    assert len(found.findings) == 8, "every number has its series, coil ohms only at 20 degC"
    assert found.simulated and found.card.donor == "bus 12, retired" and found.type == "depot-changeover-12v"


@pytest.mark.parametrize("overall", [Overall.INTERRUPTED, Overall.BENCH_TROUBLE])
def test_a_run_that_says_nothing_of_the_part_is_listed_and_compared_with_nothing(
    tmp_path: Path, overall: Overall
) -> None:
    with Store.open(str(tmp_path / "s.db")) as store:
        keep(store, run(0, 0.030))
        keep(store, run(1, 0.9, overall))
        keep(store, run(2, 0.0301))
        found = health(store, "P0001", NOW)
    (drops,) = [one for one in found.findings if one.series.id == "contact_drop_no"]
    assert [point.value for point in drops.series.points] == [0.030, 0.0301]
    assert [mark.overall for mark in found.runs] == [Overall.PASS, overall, Overall.PASS]


def test_what_the_last_run_failed_in_is_told_first_though_no_trend_leads_there(tmp_path: Path) -> None:
    """A contact that carries nothing any more has no drop that could be drawn over time."""
    with Store.open(str(tmp_path / "s.db")) as store:
        for number in range(7):
            keep(store, run(number, 0.03))
        whole = health(store, "P0001", NOW)
        last = run(7, 0.03)
        judged = list(last.judged)
        dead = records.judge(
            records.reading("contact_drop_no", 3.5, 0.0, bound=">"), Outcome.FAIL, "more", records.DROP_LIMIT
        )
        judged = [dead if one.id == "contact_drop_no" else one for one in judged]
        keep(store, last.model_copy(update={"judged": tuple(judged), "verdict": records.verdict(Overall.FAIL)}))
        found = health(store, "P0001", NOW)
    assert found.says[0] == "The last run failed in: contact drop of 87 (NO)."
    assert not any("failed" in one for one in whole.says)


def test_one_run_is_counted_as_one(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "s.db")) as store:
        keep(store, run(0, 0.03))
        found = health(store, "p0001", NOW)
    assert found.span == f"1 run on {records.STARTED:%Y-%m-%d}"
    assert found.says == ("Nothing can be said about wear yet: 1 comparable run, and 6 are needed for a trend.",)


def test_the_last_cleaning_counts(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "s.db")) as store:
        for number in range(5):
            keep(store, run(number, 0.03))
        for days in (40, 100):
            at = records.STARTED + timedelta(days=days)
            slip = store.part_event(PartEvent(part="P0001", at=at, kind=PartEventKind.CLEANED))
        found = health(store, "P0001", NOW)
        withdraw(store, "P0001", slip.id, "it was the relay beside it")
        without = health(store, "P0001", NOW)
    by_id = {one.series.id: one.series for one in found.findings}
    assert by_id["contact_drop_no"].fresh == 4 and by_id["pull_in_voltage"].fresh == 0
    assert {one.series.fresh for one in without.findings if one.series.id == "contact_drop_no"} == {2}


def test_a_part_that_was_never_tested_has_no_history(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "s.db")) as store:
        store.new_part(records.record().part, simulated=True)
        with pytest.raises(NotKept, match="never tested"):
            health(store, "P0001", NOW)


@pytest.mark.parametrize(
    ("drift_k", "said"), [(3.1, "warmed by 3.1 K a minute"), (-2.0, "cooled by 2.0 K a minute"), (0.9, "")]
)
def test_a_winding_that_was_not_as_warm_as_the_bench_is_told(tmp_path: Path, drift_k: float, said: str) -> None:
    drift = records.reading("winding_drift", drift_k, 0.5)
    looked = Judged(id=drift.id, outcome=Outcome.NOTED, reason="", finding=drift)
    with Store.open(str(tmp_path / "s.db")) as store:
        first = run(0, 0.030)
        keep(store, first.model_copy(update={"judged": (*first.judged, looked)}))
        keep(store, run(1, 0.0301))
        told = [one for one in health(store, "P0001", NOW).says if "at rest" in one]
    assert len(told) == bool(said) and all(said in one and "Let it lie for an hour" in one for one in told)
