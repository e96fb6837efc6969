"""Statements about judging again: the run and its verdict stay, and a reading made otherwise answers no limit."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import records
from test_store import keep

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.parts.rejudge import NotToBeJudged, rejudge
from pulldrop.jobs.parts.siblings import NoReference
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.protocol.load import plan
from pulldrop.store import NotKept, Store

LATER = records.STARTED + timedelta(days=400)


@pytest.fixture
def store() -> Store:
    return Store.open(":memory:")


def stricter() -> Plan:
    """The same protocol, a rating that wants 20 mV."""
    limit = records.DROP_LIMIT.model_copy(update={"high": 0.02, "text": "<= 20 mV"})
    plan = records.plan()
    return plan.model_copy(update={"limits": {**plan.limits, "contact_drop_no": limit}})


def test_a_stricter_limit_fails_what_passed_and_the_old_verdict_stays(store: Store) -> None:
    kept = keep(store, records.record())
    judgement = rejudge(store, kept.run, stricter(), LATER, "the foreman")
    assert judgement.verdict.overall is Overall.FAIL
    assert [one.id for one in judgement.decisions if one.outcome is Outcome.FAIL] == ["contact_drop_no"]
    assert store.record(kept.run) == kept, "no word of the run has changed"
    assert store.judgements(kept.run) == (judgement,)
    assert store.verify().findings == ()


def test_every_judgement_is_kept_the_oldest_first(store: Store) -> None:
    kept = keep(store, records.record())
    first = rejudge(store, kept.run, stricter(), LATER)
    second = rejudge(store, kept.run, records.plan(), LATER + timedelta(days=1))
    assert store.judgements(kept.run) == (first, second)
    assert store.history("P0001").judgements == (first, second)


@pytest.mark.parametrize(("change", "told"), [({"load": "20 A"}, "load 10"), ({"coil": "9 V"}, "coil 13.5")])
def test_a_reading_under_other_conditions_is_no_answer(store: Store, change: dict[str, str], told: str) -> None:
    kept = keep(store, records.record())
    step = ContactStep.model_validate({"measure": "contact", "coil": "13.5 V", "load": "10 A", **change})
    plan = records.plan()
    other = plan.model_copy(update={"steps": (*plan.steps[:3], step)})
    judgement = rejudge(store, kept.run, other, LATER)
    drop = judgement.decisions[-1]
    assert (drop.id, drop.outcome) == ("contact_drop_no", Outcome.NOT_TESTED)
    assert told in drop.reason
    assert judgement.verdict.overall is Overall.INCOMPLETE


@pytest.mark.parametrize("record", [records.interrupted(), records.record(Overall.BENCH_TROUBLE, records.good()[:2])])
def test_a_run_that_says_nothing_cannot_be_judged(store: Store, record: records.RunRecord) -> None:
    kept = keep(store, record)
    with pytest.raises(NotToBeJudged, match="says nothing about the part"):
        rejudge(store, kept.run, records.plan(), LATER)


def test_a_protocol_for_another_kind_of_part_is_refused(store: Store) -> None:
    kept = keep(store, records.record())
    with pytest.raises(NotToBeJudged, match="for parts of Form A"):
        rejudge(store, kept.run, records.plan().model_copy(update={"form": "A"}), LATER)


def test_a_run_that_is_not_there_is_said_to_be_unknown(store: Store, tmp_path: Path) -> None:
    with pytest.raises(NotKept, match="no run 'typo'"):
        rejudge(store, "typo", records.plan(), LATER)


def test_times_made_on_charge_are_not_held_against_a_sheet_that_gives_them_at_nominal() -> None:
    asked, sheet = plan("relay-full", "class-mini-12v-form-c"), plan("relay-full", "foocles-micro-12v-form-c")
    steps = (one.model_copy(update={"coil": 13.5}) if one.timed else one for one in asked.steps)
    made = asked.model_copy(update={"steps": tuple(steps)})
    with Store.open(":memory:") as store, VirtualBoard(find("good-12v-changeover").specimen, 3) as board:
        record = run_one(Task(plan=made, part=Relay(id="", form="C")), board, store, lambda _: None)
        judgement = rejudge(store, record.run, sheet, datetime.now(UTC))
    decided = {one.id: one for one in judgement.decisions}
    for id in ("operate_time", "release_time"):
        assert decided[id].outcome is Outcome.NOT_TESTED
        assert "measured with coil 13.5 V, not 12.0 V" in decided[id].reason, decided[id].reason
    assert judgement.verdict.overall is Overall.INCOMPLETE


def tried(store: Store, specimen: str, seed: int, made: Plan) -> RunRecord:
    with VirtualBoard(find(specimen).specimen, seed) as board:
        return run_one(Task(plan=made, part=Relay(id="", form="C")), board, store, lambda _: None)


def test_a_run_is_judged_again_beside_three_parts_of_its_kind() -> None:
    made = plan("relay-diagnose", "class-mini-12v-form-c")
    with Store.open(":memory:") as store:
        weak = tried(store, "weak-spring", 4, made)
        assert weak.faults == ()
        kin = [tried(store, "good-12v-changeover", seed, made).part.id for seed in (5, 6, 7)]
        with pytest.raises(NoReference, match="Test 3 parts of one type"):
            rejudge(store, weak.run, made, datetime.now(UTC), beside=[*kin[:2], weak.part.id])
        judgement = rejudge(store, weak.run, made, datetime.now(UTC), beside=kin)
    assert judgement.faults[0].id == "weak_spring"


def test_parts_of_one_rating_may_be_of_several_lots_and_are_held_beside_each_other_only_by_a_persons_word() -> None:
    made = plan("relay-diagnose", "cit-a2-12v-90ohm-form-c")
    with Store.open(":memory:") as store:
        kin = [tried(store, "good-12v-changeover", seed, made).part.id for seed in (5, 6, 7)]
        weak = tried(store, "weak-spring", 4, made)
        again = rejudge(store, weak.run, made, datetime.now(UTC))
        beside = rejudge(store, weak.run, made, datetime.now(UTC), beside=kin)
    assert not any("of its siblings'" in one.text for fault in (*weak.faults, *again.faults) for one in fault.evidence)
    assert beside.faults[0].id == "weak_spring"
    assert any("of its siblings'" in one.text for one in beside.faults[0].evidence)
