"""Ctrl-C at every moment of a run: everything off, the run kept as interrupted, and never a pass."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest
from rehearsal import Rehearsal, ignore

from pulldrop.board.errors import BoardLost
from pulldrop.cli.main import main
from pulldrop.jobs.run import boards
from pulldrop.jobs.run.events import Event
from pulldrop.jobs.run.test_one import RunOptions, Void, run_one
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Overall
from pulldrop.store import OpenRun, Store


@pytest.fixture(scope="module")
def rehearsal() -> Rehearsal:
    return Rehearsal()


def interrupt_at(*numbers: int) -> Callable[[int, str], None]:
    def trouble(number: int, _name: str) -> None:
        if number in numbers:
            raise KeyboardInterrupt

    return trouble


def test_undisturbed_the_rehearsed_relay_passes(rehearsal: Rehearsal) -> None:
    board = rehearsal.board(interrupt_at())
    with Store.open(":memory:") as store:
        record = run_one(rehearsal.task, board, store, ignore)
    assert record.verdict.overall is Overall.PASS
    assert not board.on


@pytest.mark.parametrize("presses", [1, 2, 3])
def test_ctrl_c_at_every_request_switches_off_and_is_kept_as_interrupted(rehearsal: Rehearsal, presses: int) -> None:
    """With more presses than one, the others hit the switching-off itself."""
    with Store.open(":memory:") as store:
        for number in rehearsal.requests():
            board = rehearsal.board(interrupt_at(*range(number, number + presses)))
            record = run_one(rehearsal.task, board, store, ignore)
            assert not board.on, f"still energised after Ctrl-C at request {number}"
            assert record.verdict.overall is Overall.INTERRUPTED, f"Ctrl-C at request {number}"
            kept = store.record(record.run)
            assert kept.verdict.overall is Overall.INTERRUPTED, f"kept after Ctrl-C at request {number}"


def test_ctrl_c_while_anything_is_shown_switches_off(rehearsal: Rehearsal) -> None:
    shown = 4 + len(rehearsal.record.judged)
    with Store.open(":memory:") as store:
        for number in range(shown + 1):
            seen = 0

            def show(event: Event, number: int = number) -> None:
                nonlocal seen
                seen += 1
                if seen == number + 1 and not isinstance(event, RunRecord):
                    raise KeyboardInterrupt

            board = rehearsal.board(interrupt_at())
            record = run_one(rehearsal.task, board, store, show)
            assert not board.on
            assert record.verdict.overall is Overall.INTERRUPTED


@pytest.mark.parametrize("gone", [False, True], ids=["the board is lost", "the part was taken out"])
def test_ctrl_c_beside_other_trouble_ends_what_comes_after_the_run(rehearsal: Rehearsal, gone: bool) -> None:
    """The trouble was kept, the Ctrl-C was forgotten, and a crate asked for the next part."""

    def trouble(number: int, name: str) -> None:
        if name == "off" and len(offs) < 2:
            offs.append(number)
            raise KeyboardInterrupt if len(offs) == 1 or gone else BoardLost("The board is gone.")

    def watch(_judged: Sequence[Judged]) -> None:
        raise Void("The part was taken out.") if gone else KeyboardInterrupt

    offs: list[int] = []
    with Store.open(":memory:") as store:
        with pytest.raises(KeyboardInterrupt):
            run_one(rehearsal.task, rehearsal.board(trouble), store, ignore, RunOptions(watch=watch))
        (part,) = store.parts()
        kept = [store.record(run.run).verdict.overall for run in store.runs(part.part.id)]
    assert kept == [Overall.INTERRUPTED if gone else Overall.BENCH_TROUBLE]


def test_what_was_measured_before_ctrl_c_is_kept(rehearsal: Rehearsal) -> None:
    half = len(rehearsal.tape) // 2
    with Store.open(":memory:") as store:
        record = run_one(rehearsal.task, rehearsal.board(interrupt_at(half)), store, ignore)
        kept = store.record(record.run).judged
    assert kept == rehearsal.record.judged[: len(kept)]
    assert 0 < len(kept) < len(rehearsal.record.judged)


def test_ctrl_c_right_after_a_measurement_was_kept_does_not_keep_it_twice(
    rehearsal: Rehearsal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the commit and the run's own note that it is written, at each measurement in turn."""
    note, kept = OpenRun._note_written, 0

    def interrupted(run: OpenRun, raw: set[str]) -> None:
        nonlocal kept
        kept -= 1
        if kept == 0:
            raise KeyboardInterrupt
        note(run, raw)

    monkeypatch.setattr(OpenRun, "_note_written", interrupted)
    with Store.open(":memory:") as store:
        for number in range(1, len(rehearsal.record.judged) + 1):
            kept = number
            record = run_one(rehearsal.task, rehearsal.board(interrupt_at()), store, ignore)
            assert record.verdict.overall is Overall.INTERRUPTED
            assert store.record(record.run).judged == rehearsal.record.judged[:number]


def test_an_error_that_nobody_foresaw_still_switches_off_and_leaves_no_pass(rehearsal: Rehearsal) -> None:
    def show(event: Event) -> None:
        if isinstance(event, Judged):
            raise ZeroDivisionError

    board = rehearsal.board(interrupt_at())
    with Store.open(":memory:") as store:
        with pytest.raises(ZeroDivisionError):
            run_one(rehearsal.task, board, store, show)
        assert not board.on
        assert store.parts()[0].last.overall is Overall.INTERRUPTED


def test_the_command_ends_with_code_3_after_ctrl_c(
    rehearsal: Rehearsal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    @contextmanager
    def opened(*_: object) -> Iterator[boards.Opened]:
        yield boards.Opened(rehearsal.board(interrupt_at(60)))

    monkeypatch.setattr(boards, "open_socket", opened)
    assert main(["test", "--board", "virtual", "--no-look", "--store", ":memory:"]) == 3
    assert "INTERRUPTED" in capsys.readouterr().out


LOADING = """
import builtins, os, signal
real = builtins.__import__
def pressed(name, *more):
    if name == "typer":
        os.kill(os.getpid(), signal.SIGINT)
    return real(name, *more)
builtins.__import__ = pressed
"""
ENDING = """
import atexit, os, signal, sys
sys.argv = ["pulldrop", "--help"]
atexit.register(lambda: os.kill(os.getpid(), signal.SIGINT))
"""
START = "from pulldrop.__main__ import start; start()"


@pytest.mark.parametrize(("pressed", "code"), [(LOADING, -signal.SIGINT), (ENDING, 0)], ids=["loading", "ending"])
def test_ctrl_c_before_the_command_begins_or_after_it_ended_is_no_error(pressed: str, code: int) -> None:
    ended = subprocess.run([sys.executable, "-c", pressed + START], capture_output=True, text=True)
    assert (ended.returncode, ended.stderr) == (code, "")


def test_ctrl_c_in_a_terminal_ends_a_run_on_the_emulated_board(tmp_path: Path) -> None:
    """The signal itself, to a process of its own, while the firmware walks the coil voltage."""
    store = tmp_path / "runs.db"
    command = [sys.executable, "-m", "pulldrop", "test", "--board", "emulated", "--store", str(store)]
    plain = os.environ | {"PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=plain) as run:
        assert run.stdout
        before = ""
        while "step 2" not in before:
            line = run.stdout.readline()
            assert line, before
            before += line
        run.send_signal(signal.SIGINT)
        run.send_signal(signal.SIGINT)
        after = run.stdout.read()
    assert run.returncode == 3
    assert "INTERRUPTED" in after
    with Store.open(str(store)) as history:
        assert history.parts()[0].last.overall is Overall.INTERRUPTED
