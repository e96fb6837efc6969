"""A normally closed part: measured by its one pair, and named for what is wrong with it like any other."""

import pytest

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.judge.diagnosis import diagnose
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.judge.diagnosis.forms import faults_of
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.relay import FORMS, NC
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

FULL = plan("relay-full", "class-mini-12v-form-b")


def findings(at: Plan, form: str = "B", **changed: object) -> dict[str, Finding]:
    part = Specimen.model_validate({"title": "a part", "form": form, "temperature_c": 23.0} | changed)
    with VirtualBoard(part, 3) as board:
        return {one.id: one for one in perform(at, board, nominal(0)) if not isinstance(one, StepStarted)}


def value(found: dict[str, Finding], id: str) -> float:
    one = found[id]
    assert isinstance(one, Reading) and one.value is not None and one.bound == "=", id
    return one.value


def test_it_is_timed_and_walked_by_nc_as_a_changeover_part_of_the_same_make() -> None:
    own, other = findings(FULL), findings(plan("relay-full", "class-mini-12v-form-c"), form="C")
    assert value(own, "drop_out_voltage") == pytest.approx(value(other, "drop_out_voltage"), rel=0.03)
    assert value(own, "release_time") == pytest.approx(value(other, "release_time"), rel=0.1)
    opens = value(other, "operate_time") - value(other, "transfer_time")
    assert value(own, "operate_time") == pytest.approx(opens, rel=0.05)
    assert value(own, "pull_in_voltage") <= value(other, "pull_in_voltage") * 1.02
    for id, ends in (("operate_time", "30-87a opening"), ("drop_out_voltage", "30-87a closing")):
        one = own[id]
        assert isinstance(one, Reading) and ends in {condition.text for condition in one.conditions}
    assert not {id for id in own if id.endswith("_no")} and "transfer_time" not in own


@pytest.mark.parametrize(
    "fault, changed",
    [
        ("stuck_at_rest", {"faults": {"stuck": "at rest"}}),
        ("stuck_operated", {"faults": {"stuck": "operated"}}),
        ("weak_spring", {"faults": {"return_spring_percent": 15.0}}),
    ],
)
def test_what_is_wrong_with_it_is_named(fault: str, changed: dict[str, object]) -> None:
    at = plan("relay-diagnose", "class-mini-12v-form-b")
    at = at.model_copy(update={"rating": at.rating.model_copy(update={"any_maker": None})})  # as a maker's sheet would
    assert [one.id for one in diagnose(at, findings(at, **changed).values()).faults][:1] == [fault]


def test_one_that_is_open_at_rest_is_not_walked_and_the_reason_says_so() -> None:
    found = findings(FULL, faults={"stuck": "operated"})["pull_in_voltage"]
    assert isinstance(found, NotTested) and "30-87a is open with the coil off" in found.reason


def test_no_fault_of_an_own_contact_is_sought_on_a_form_that_lacks_it() -> None:
    assert {fault.id for fault in faults_of("C")} == {fault.id for fault in FAULTS}
    assert not {"burnt_no", "welded_no", "under_rated", "corroded_blade"} & {one.id for one in faults_of("B")}
    assert not {"burnt_nc", "welded_nc"} & {fault.id for fault in faults_of("A")}
    assert all(set(fault.pairs) <= {NC} for fault in faults_of("B")) and FORMS["B"].pairs == (NC,)
