"""A coil that makes the board switch off ends its run: no pass, and what was read until then still names the fault."""

from typing import Any

import pytest

from pulldrop.board.contract import Trip
from pulldrop.board.errors import BoardError, NoAnswer, Tripped
from pulldrop.board.request_types import Drive
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.raw import Capture
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan
from pulldrop.store import Store

AT = plan("relay-diagnose", "class-mini-12v-form-c")
BEYOND_DAC = 700
"""About 5 V."""
SHORTING = Specimen.model_validate({"title": "invented", "faults": {"shorted_turns_percent": 50.0}})


class Ends(VirtualBoard):
    """Ends the run with an error as soon as the coil is to have more than a few volts."""

    error: BoardError

    def hold_coil(self, drive: Drive) -> None:
        if drive.dac > BEYOND_DAC:
            raise self.error
        super().hold_coil(drive)


def run(error: BoardError, store: Store) -> RunRecord:
    board = Ends(SHORTING, 2)
    board.error = error
    return run_one(Task(AT, Relay(id="T-1", form="C")), board, store, lambda _event: None)


def test_the_fault_is_named_and_kept_with_its_advice_and_the_part_is_not_judged() -> None:
    with Store.open(":memory:") as store:
        record = run(Tripped(Trip.OVER_CURRENT, "The board switched off: the coil took too much current."), store)
        assert record.faults[0].id == "shorted_turns" and record.faults[0].advice
        assert "coil_current" in {one.id for one in record.faults[0].evidence}
        assert store.record(record.run).faults == record.faults
    assert record.verdict.overall is Overall.BENCH_TROUBLE
    assert "too much current" in record.verdict.found and "the bench failed" not in record.verdict.means.lower()


@pytest.mark.parametrize(
    "error",
    [Tripped(Trip.EMERGENCY_STOP, "The emergency stop was opened."), NoAnswer("The board gave no answer.")],
)
def test_trouble_that_the_part_did_not_make_names_no_fault(error: BoardError) -> None:
    with Store.open(":memory:") as store:
        record = run(error, store)
    assert record.faults == () and record.verdict.overall is Overall.BENCH_TROUBLE


class Fails(VirtualBoard):
    """Its coil, sound until then, takes too much as soon as it is stepped to full volts for the `at`-th time."""

    at: int
    steps = 0

    def step_coil(self, *given: Any, **named: Any) -> Capture:
        self.steps += 1
        if self.steps == self.at:
            raise Tripped(Trip.OVER_CURRENT, "The board switched off: the coil took too much current.")
        return super().step_coil(*given, **named)


def failed(at: int) -> RunRecord:
    with Store.open(":memory:") as store:
        board = Fails(Specimen(title="invented"), 2)
        board.at = at
        return run_one(Task(AT, Relay(id="T-1", form="C")), board, store, lambda _event: None)


def test_a_coil_that_was_sound_before_is_told_with_the_step_and_what_to_do_next() -> None:
    record = failed(at=2)  # the first is the first make
    verdict = record.verdict
    assert (verdict.overall, record.faults) == (Overall.BENCH_TROUBLE, ())
    assert "It was in step 5 of 13: armature motion." in verdict.found
    assert "within its limits before that" in verdict.means
    assert "Ohms from 85 to 86" in verdict.next


def test_a_trip_of_the_first_make_names_nothing_where_half_a_volt_showed_a_sound_coil_and_a_volt_no_diode() -> None:
    record = failed(at=1)
    verdict = record.verdict
    assert (verdict.overall, record.faults) == (Overall.BENCH_TROUBLE, ())
    assert "It was in step 3 of 13" in verdict.found
    assert "sound at half a volt" in verdict.means
