"""Whatever ends a hot make early: everything is off, and the run is no pass and says nothing of the part."""

import pytest
from rehearsal import Rehearsal, ignore

from pulldrop.board.contract import Trip
from pulldrop.board.errors import BoardError, BoardLost, NoAnswer, Refused, Tripped
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.test_one import run_one
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.hot import HotStep
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan
from pulldrop.store import Store


def with_hot_makes() -> Plan:
    """Coil, contacts under load and hot makes: a plan that a sound part passes."""
    at = plan("relay-diagnose", "class-mini-12v-form-c")
    steps = tuple(s for s in at.steps if isinstance(s, CoilStep | ContactStep | HotStep))
    wanted = (
        "coil_resistance_20c",
        "contact_drop_no",
        "contact_drop_nc",
        "release_after_hot_make",
        "opening_after_hot_make_nc",
    )
    return at.model_copy(
        update={"steps": steps, "wanted": wanted, "limits": {id: at.limits[id] for id in wanted if id in at.limits}}
    )


@pytest.fixture(scope="module")
def rehearsal() -> Rehearsal:
    return Rehearsal(with_hot_makes())


def asked(rehearsal: Rehearsal) -> list[int]:
    """The numbers of requests from the first hot make on, but the last, which turns everything off."""
    first = next(number for number, (name, _) in enumerate(rehearsal.tape, 1) if name == "hot_step")
    return [number for number in rehearsal.requests() if first <= number < len(rehearsal.tape)]


def test_undisturbed_the_sound_part_passes(rehearsal: Rehearsal) -> None:
    assert rehearsal.record.verdict.overall is Overall.PASS


@pytest.mark.parametrize(
    "error",
    [
        Tripped(Trip.OVER_CURRENT, "The board switched off: the coil took too much current."),
        Tripped(Trip.EMERGENCY_STOP, "The board switched off: the emergency stop was opened."),
        Tripped(Trip.LEASE, "The board switched off: it heard nothing for 500 ms."),
        Refused("stopped", "The load was ended by its own time limit."),
        NoAnswer("The board gave no answer within 0.5 s."),
        BoardLost("The line to the board broke."),
    ],
    ids=lambda error: f"{type(error).__name__} {str(error)[-20:]}",
)
def test_a_hot_make_that_ends_early_is_bench_trouble_and_leaves_nothing_on(
    rehearsal: Rehearsal, error: BoardError
) -> None:
    def trouble(number: int, _name: str) -> None:
        if number == at:
            raise error

    with Store.open(":memory:") as store:
        for at in asked(rehearsal):
            board = rehearsal.board(trouble)
            record = run_one(rehearsal.task, board, store, ignore)
            assert record.verdict.overall is Overall.BENCH_TROUBLE, f"at request {at}"
            assert not board.on, f"still energised at request {at}"


def test_ctrl_c_in_a_hot_make_is_an_interrupted_run_and_never_a_pass(rehearsal: Rehearsal) -> None:
    def interrupt(number: int, _name: str) -> None:
        if number == at:
            raise KeyboardInterrupt

    with Store.open(":memory:") as store:
        for at in asked(rehearsal):
            board = rehearsal.board(interrupt)
            record = run_one(rehearsal.task, board, store, ignore)
            assert record.verdict.overall is Overall.INTERRUPTED, f"at request {at}"
            assert not board.on


class Stopped(VirtualBoard):
    """Its emergency stop is opened while a hot make runs, as soon as the load flows."""

    def _step(self, *given: object, **named: object):  # type: ignore[no-untyped-def, override]  # passed on as it came
        if self.plant.pins.branches:
            self.open_stop()
        return super()._step(*given, **named)  # type: ignore[arg-type]  # as it came


def test_the_emergency_stop_in_a_hot_make_turns_load_and_coil_off() -> None:
    board = Stopped(Specimen(title="a part"), 1)
    rehearsal = Rehearsal(with_hot_makes())
    with Store.open(":memory:") as store:
        record = run_one(rehearsal.task, board, store, ignore)
    assert record.verdict.overall is Overall.BENCH_TROUBLE
    assert "emergency stop" in record.verdict.found
    assert (board.plant.pins.coil, board.plant.pins.branches, board.plant.pins.throws) == (False, 0, 0)
