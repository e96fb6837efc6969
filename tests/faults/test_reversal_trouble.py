"""Whatever a person does when asked for the coil leads: everything is off, nothing is lost, and the run is no pass."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from pulldrop.board.contract import Status
from pulldrop.board.errors import BoardLost
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import RunOptions, Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.hand import Request
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.plant.bench import instruments
from pulldrop.protocol.load import plan
from pulldrop.store import Store

PLAN = plan("relay-reversed", "class-mini-12v-form-c")
REVERSED = ("contact_reversed", "drop_out_after_reversal", "drop_out_rise")
Trouble = Callable[[VirtualBoard, Request], bool]


def run(trouble: Trouble, board: VirtualBoard | None = None) -> tuple[RunRecord, VirtualBoard]:
    """A sound relay, and a person who does something else than was asked for; the record as it was kept."""
    with board or VirtualBoard(find("good-12v-changeover").specimen, seed=4) as bench, Store.open(":memory:") as store:
        task = Task(plan=PLAN, part=Relay(id="", form=PLAN.form))
        made = run_one(task, bench, store, lambda _: None, RunOptions(hand=lambda request: trouble(bench, request)))
        kept = store.record(made.run)
        assert kept.judged == made.judged
        assert not bench.plant.pins.coil and bench.plant.pins.dac == 0
    return kept, bench


def outcome(record: RunRecord, id: str) -> Outcome:
    return next(one.outcome for one in record.judged if one.id == id)


def done(board: VirtualBoard, request: Request) -> bool:
    return virtual_hand(board.exchange_leads)(request)


def test_done_as_asked_a_sound_part_is_checked_without_load_and_no_pass() -> None:
    record, _ = run(done)
    assert record.verdict.overall is Overall.WITHOUT_LOAD
    assert record.faults == ()


def test_leads_that_were_not_exchanged_make_no_pass() -> None:
    record, _ = run(lambda _board, _request: True)
    assert record.verdict.overall is Overall.WITHOUT_LOAD


def test_a_step_that_was_left_out_makes_the_run_incomplete() -> None:
    record, _ = run(lambda _board, _request: False)
    assert record.verdict.overall is Overall.INCOMPLETE
    assert all(outcome(record, id) is Outcome.NOT_TESTED for id in REVERSED)
    assert outcome(record, "drop_out_before_reversal") is Outcome.NOTED


@pytest.mark.parametrize("at", [True, False])
def test_a_part_that_was_pulled_in_the_meantime_is_not_tested(at: bool) -> None:
    def pull(board: VirtualBoard, request: Request) -> bool:
        if request.exchanged is at:
            board.insert(instruments.empty())
        return done(board, request)

    record, board = run(pull)
    assert record.verdict.overall is Overall.INCOMPLETE
    assert "a lead is off, the part was pulled" in record.verdict.found
    assert not board.plant.leads_exchanged, "the leads are asked back all the same"


def test_another_part_in_its_place_is_seen_by_its_ohms() -> None:
    def swap(board: VirtualBoard, request: Request) -> bool:
        if request.exchanged:
            board.insert(find("good-24v-changeover").specimen)
        return done(board, request)

    record, _ = run(swap)
    assert record.verdict.overall is Overall.INCOMPLETE
    assert "ohm lie between them" in record.verdict.found


@pytest.mark.parametrize("at", [True, False])
def test_ctrl_c_at_a_request_ends_the_run_as_interrupted(at: bool) -> None:
    def press(board: VirtualBoard, request: Request) -> bool:
        if request.exchanged is at:
            raise KeyboardInterrupt
        return done(board, request)

    record, _ = run(press)
    assert record.verdict.overall is Overall.INTERRUPTED
    assert outcome(record, "drop_out_before_reversal") is Outcome.NOTED, "what was measured before is kept"


def test_the_emergency_stop_pressed_before_the_leads_are_touched_is_bench_trouble() -> None:
    def press(board: VirtualBoard, request: Request) -> bool:
        board.open_stop()
        return True

    record, _ = run(press)
    assert record.verdict.overall is Overall.BENCH_TROUBLE
    assert "emergency stop" in record.verdict.found


def test_a_board_unplugged_while_the_person_is_at_the_leads_is_bench_trouble() -> None:
    class Unplugged(VirtualBoard):
        gone = False

        def status(self) -> Status:
            if self.gone:
                raise BoardLost("The line broke: is the cable unplugged?")
            return super().status()

        def sense_coil(self):  # type: ignore[no-untyped-def]  # as above
            self.status()
            return super().sense_coil()

    board = Unplugged(find("good-12v-changeover").specimen, seed=4)

    def unplug(_board: VirtualBoard, _request: Request) -> bool:
        board.gone = True
        return True

    record, _ = run(unplug, board)
    assert record.verdict.overall is Overall.BENCH_TROUBLE


def test_nobody_is_asked_to_touch_a_lead_while_the_board_says_that_something_is_on() -> None:
    class Stuck(VirtualBoard):
        """Its coil switch does not open; only the supply goes to zero."""

        def status(self) -> Status:
            told = super().status()
            return replace(told, on=True)

    asked: list[Request] = []

    def note(_board: VirtualBoard, request: Request) -> bool:
        asked.append(request)
        return True

    record, _ = run(note, Stuck(find("good-12v-changeover").specimen, seed=4))
    assert record.verdict.overall is Overall.BENCH_TROUBLE
    assert "touch no lead" in record.verdict.found
    assert asked == []
