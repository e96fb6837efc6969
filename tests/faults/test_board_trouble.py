"""A board that is lost, trips, restarts or falls silent at any moment: bench trouble, and nothing said of the part."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from rehearsal import Rehearsal, Replay, ignore

from pulldrop.board.contract import Trip
from pulldrop.board.errors import BoardError, BoardLost, BoardReset, NoAnswer, Refused, Tripped
from pulldrop.cli.main import main
from pulldrop.jobs.run import boards
from pulldrop.jobs.run.test_one import RunNotKept, run_one
from pulldrop.model.verdict import Judged, Overall
from pulldrop.store import OpenRun, Store, StoreTrouble

TROUBLES: tuple[BoardError, ...] = (
    Tripped(Trip.OVER_CURRENT, "The board switched off: the coil took too much current."),
    Tripped(Trip.EMERGENCY_STOP, "The board switched off: the emergency stop was opened."),
    BoardReset("The board restarted during the run (watchdog)."),
    NoAnswer("The board gave no answer within 0.5 s."),
    Refused("bus", "A converter on the board did not answer in time."),
)


@pytest.fixture(scope="module")
def rehearsal() -> Rehearsal:
    return Rehearsal()


def once(number: int, error: BoardError) -> Callable[[int, str], None]:
    def trouble(asked: int, _name: str) -> None:
        if asked == number:
            raise error

    return trouble


def unplugged_from(number: int) -> Callable[[int, str], None]:
    def trouble(asked: int, _name: str) -> None:
        if asked >= number:
            raise BoardLost("The line to the board broke; it was unplugged or lost its power.")

    return trouble


def at_probe(rehearsal: Rehearsal) -> range:
    """Requests at the coil's first volt, where too much current is a finding about the part."""
    names = [name for name, _ in rehearsal.tape]
    first = names.index("sense_coil") + 2
    return range(first, names.index("sense_analog", first) + 1)


def test_trouble_at_every_request_is_bench_trouble_and_switches_off(rehearsal: Rehearsal) -> None:
    """Each request meets one of the troubles, in turn."""
    with Store.open(":memory:") as store:
        for number in rehearsal.requests():
            turn = number + (number in at_probe(rehearsal) and number % len(TROUBLES) == 0)
            error = TROUBLES[turn % len(TROUBLES)]
            board = rehearsal.board(once(number, error))
            record = run_one(rehearsal.task, board, store, ignore)
            assert not board.on, f"still energised after '{error}' at request {number}"
            assert record.verdict.overall is Overall.BENCH_TROUBLE, f"{error} at request {number}"
            assert str(error) in record.verdict.found
            assert store.record(record.run).verdict.overall is Overall.BENCH_TROUBLE


def test_a_board_unplugged_at_any_request_is_bench_trouble(rehearsal: Rehearsal) -> None:
    with Store.open(":memory:") as store:
        for number in rehearsal.requests():
            record = run_one(rehearsal.task, rehearsal.board(unplugged_from(number)), store, ignore)
            assert record.verdict.overall is Overall.BENCH_TROUBLE, f"unplugged at request {number}"
            assert "unplugged" in record.verdict.found
            assert "did not confirm that everything is off" in record.verdict.found
            assert record.verdict.found.count("unplugged") == 1, "one cause is reported once"


def test_a_failed_switching_off_after_a_complete_run_is_no_pass(rehearsal: Rehearsal) -> None:
    board = rehearsal.board(unplugged_from(len(rehearsal.tape)))
    with Store.open(":memory:") as store:
        record = run_one(rehearsal.task, board, store, ignore)
    assert record.verdict.overall is Overall.BENCH_TROUBLE


def run_command(board: Replay, monkeypatch: pytest.MonkeyPatch, *more: str) -> int:
    @contextmanager
    def opened(*_: object) -> Iterator[boards.Opened]:
        yield boards.Opened(board)

    monkeypatch.setattr(boards, "open_socket", opened)
    return main(["test", "--board", "virtual", "--no-look", "--store", ":memory:", *more])


@pytest.mark.parametrize("error", TROUBLES, ids=lambda e: type(e).__name__)
def test_the_command_ends_with_code_4_and_the_sentence(
    rehearsal: Rehearsal,
    error: BoardError,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run_command(rehearsal.board(once(70, error)), monkeypatch) == 4
    shown = " ".join(capsys.readouterr().out.split())
    assert "BENCH TROUBLE" in shown
    assert str(error) in shown


class FullDisk:
    """The store takes `good` measurements and then nothing more."""

    def __init__(self, good: int) -> None:
        self.good = good
        self.add, self.finish = OpenRun.add, OpenRun.finish

    def install(self, monkeypatch: pytest.MonkeyPatch) -> None:
        fake = self
        trouble = StoreTrouble("The store is full. The record so far is kept in rescue.json.")

        def add(run: OpenRun, judged: Judged) -> None:
            if len(run._judged) >= fake.good:
                raise trouble
            fake.add(run, judged)

        def finish(*_: object) -> None:
            raise trouble

        monkeypatch.setattr(OpenRun, "add", add)
        monkeypatch.setattr(OpenRun, "finish", finish)


@pytest.mark.parametrize("good", [0, 5, 15])
def test_a_store_that_fails_in_the_middle_switches_off_and_names_the_rescue_file(
    rehearsal: Rehearsal, good: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    FullDisk(good).install(monkeypatch)
    board = rehearsal.board(lambda *_: None)
    with Store.open(":memory:") as store, pytest.raises(RunNotKept, match=r"kept in rescue\.json"):
        run_one(rehearsal.task, board, store, ignore)
    assert not board.on
    assert board.asked < len(rehearsal.tape)


def test_a_store_that_fails_in_the_middle_is_code_4(
    rehearsal: Rehearsal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    FullDisk(3).install(monkeypatch)
    assert run_command(rehearsal.board(lambda *_: None), monkeypatch) == 4
    told = capsys.readouterr()
    assert "rescue.json" in told.err
    assert "Traceback" not in told.err


def test_a_store_that_recovers_keeps_the_run_as_bench_trouble(
    rehearsal: Rehearsal, monkeypatch: pytest.MonkeyPatch
) -> None:
    fails = iter([True])
    add = OpenRun.add

    def add_or_fail(run: OpenRun, judged: Judged) -> None:
        if len(run._judged) == 2 and next(fails, False):
            raise StoreTrouble("The store was locked for a moment.")
        add(run, judged)

    monkeypatch.setattr(OpenRun, "add", add_or_fail)
    with Store.open(":memory:") as store:
        record = run_one(rehearsal.task, rehearsal.board(lambda *_: None), store, ignore)
        assert store.record(record.run).verdict.overall is Overall.BENCH_TROUBLE
