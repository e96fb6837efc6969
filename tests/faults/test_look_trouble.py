"""Trouble and Ctrl-C at every request of the look before a test: everything is off, and nothing is said of the part."""

from collections.abc import Callable, Iterator

import pytest
from rehearsal import Recorder, Replay

from pulldrop.board.errors import BoardReset, NoAnswer, Refused
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.identify import NotEnergised, look_first, refuse
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.store import Store

PART = specimens.find("good-with-diode")


@pytest.fixture(scope="module")
def store() -> Iterator[Store]:
    """Without any calibration, and a look keeps nothing."""
    with Store.open(":memory:") as opened:
        yield opened


@pytest.fixture(scope="module")
def rehearsed(store: Store) -> Recorder:
    board = Recorder(VirtualBoard(PART.specimen, seed=1))
    look_first(board, store)
    return board


def at(number: int, error: BaseException) -> Callable[[int, str], None]:
    def trouble(asked: int, _name: str) -> None:
        if asked == number:
            raise error

    return trouble


@pytest.mark.parametrize(
    "error", [KeyboardInterrupt(), NoAnswer("no answer"), BoardReset("restarted"), Refused("bus", "no converter")]
)
def test_trouble_at_any_request_of_the_look_leaves_everything_off(
    store: Store, rehearsed: Recorder, error: BaseException
) -> None:
    assert len(rehearsed.tape) > 40
    for number in range(1, len(rehearsed.tape) + 1):
        board = Replay(rehearsed.tape, rehearsed.identity, at(number, error))
        with pytest.raises(type(error)):
            look_first(board, store)
        assert not board.on, f"still energised after {error!r} at request {number}"


def test_the_undisturbed_look_ends_with_everything_off(store: Store, rehearsed: Recorder) -> None:
    board = Replay(rehearsed.tape, rehearsed.identity, at(0, KeyboardInterrupt()))
    assert look_first(board, store).suppression.kind == "diode"
    assert not board.on


@pytest.mark.parametrize(("name", "offered"), [("reversed-diode", False), ("twin-87", True)])
def test_only_what_harms_nothing_is_offered_to_be_tested_all_the_same(name: str, offered: bool) -> None:
    board, at = VirtualBoard(specimens.find(name).specimen, seed=1), plan_for_specimen(PART.specimen)
    with Store.open(":memory:") as store, pytest.raises(NotEnergised) as refused:
        refuse(look_first(board, store), at)
    assert ("--no-look" in str(refused.value)) is offered


def test_a_part_that_does_not_suit_the_protocol_is_refused_with_everything_off() -> None:
    part = specimens.find("wrong-coil-voltage")
    board = VirtualBoard(part.specimen, seed=1)
    with Store.open(":memory:") as store, pytest.raises(NotEnergised, match="is one of 24 V"):
        refuse(look_first(board, store), plan_for_specimen(part.specimen))
    assert not board.status().on


@pytest.mark.parametrize(
    ("name", "named"),
    [
        ("reversed-diode", "the wrong way round for this polarity"),
        ("shorted-coil", "coil or its suppression shorted"),
        ("wrong-coil-voltage", "coil of another voltage"),
    ],
)
def test_a_part_that_is_refused_for_a_fault_is_told_which_and_what_to_do_with_it(name: str, named: str) -> None:
    board, at = VirtualBoard(specimens.find(name).specimen, seed=1), plan_for_specimen(PART.specimen)
    with Store.open(":memory:") as store, pytest.raises(NotEnergised, match=f"Finding: .*{named}") as refused:
        refuse(look_first(board, store), at)
    assert any(fault.advice in str(refused.value) for fault in FAULTS)


def test_a_sound_part_that_is_refused_for_its_blades_has_no_finding() -> None:
    board, at = VirtualBoard(specimens.find("twin-87").specimen, seed=1), plan_for_specimen(PART.specimen)
    with Store.open(":memory:") as store, pytest.raises(NotEnergised) as refused:
        refuse(look_first(board, store), at)
    assert "Finding" not in str(refused.value)
