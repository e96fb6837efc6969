"""`pulldrop watch` on simulated vehicles: words, losses, the log, STALE, a kill amid it, and what is refused."""

import io
import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from rich.console import Console

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.cli.main import main
from pulldrop.cli.show.live.watch import WatchScreen
from pulldrop.jobs.vehicle import boards
from pulldrop.jobs.vehicle.watch import Watched
from pulldrop.judge.socket.levels import Line

WATCH = ["watch", "--board", "virtual-bare", "--vehicle", "heritage-bus-12"]
BUS = boards.vehicle("heritage-bus-12")


def test_changes_are_told_kept_and_marked_simulated(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = tmp_path / "bus.jsonl"
    assert main([*WATCH, "--line", "feed", "--line", "trigger", "--seconds", "4.6", "--log", str(log)]) == 0
    out = capsys.readouterr().out
    assert "SIMULATED" in out and "feed  ON" in out and "trigger  ON 2" in out and str(log) in out
    kept = [json.loads(line) for line in log.read_text().splitlines()]
    assert kept[0]["simulated"] and {line["word"] for line in kept if "word" in line} == {"ON", "OFF"}


def test_a_killed_watch_has_lost_nothing_that_it_told(tmp_path: Path) -> None:
    log = tmp_path / "killed.jsonl"
    command = [sys.executable, "-u", "-m", "pulldrop", *WATCH, "--seconds", "80000", "--log", str(log)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as watching:
        assert watching.stdout
        told = [line for line, _ in zip(watching.stdout, range(6), strict=False) if " s  " in line]
        watching.send_signal(signal.SIGKILL)
        watching.wait()
    kept = [json.loads(line) for line in log.read_text().splitlines()]
    assert len(told) >= 4 and len([line for line in kept if "word" in line]) >= len(told)


@pytest.mark.parametrize(
    ("more", "code", "says"),
    [
        (["--vehicle", "heritage-buss"], 2, "heritage-bus-12"),
        (["--place", "fuse box"], 2, "say --wiggle too"),
        ([arg for n in range(4) for arg in ("--line", f"wire {n}")], 2, "three at most"),
        (["--board", "virtual"], 2, "SIMULATED"),
        (["--board", "virtual-evening"], 2, "virtual-bare or emulated-bare"),
    ],
)
def test_what_cannot_be_watched_is_refused_with_a_sentence(
    more: list[str], code: int, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = [*WATCH, "--seconds", "0.2", "--log", str(tmp_path / "log.jsonl"), *more]
    if says == "SIMULATED":
        assert main(given) == 0
        return
    assert main(given) == code
    assert says in capsys.readouterr().err


def test_silence_of_the_board_shows_as_stale_within_a_second() -> None:
    now = [100.0]
    out = Console(file=io.StringIO(), force_terminal=False, width=100)
    screen = WatchScreen(out, LeadBoard(BUS, 1).identity, clock=lambda: now[0])
    seen = Watched({"X2": "feed"}, lines={"X2": Line(word="ON")}, volts={"X2": 12.0}, readings=5)
    screen(seen, None, None)
    assert not screen.stale
    now[0] += 0.9
    assert screen.stale
    out.print(screen.drawn())
    shown = out.file.getvalue()  # type: ignore[attr-defined]
    assert "SIMULATED" in shown and "Nothing new comes from the board" in shown
    screen(seen, None, None)
    assert screen.stale, "an answer without a new reading is none"
    seen.readings += 1
    screen(seen, None, None)
    assert not screen.stale, "it came back"


def test_a_screen_redraws_itself_while_the_board_is_asked_in_vain(monkeypatch: pytest.MonkeyPatch) -> None:
    out = Console(file=io.StringIO(), force_terminal=True, width=100, height=40)
    monkeypatch.setenv("TERM", "xterm-256color")
    with WatchScreen(out, LeadBoard(BUS, 1).identity) as screen:
        screen(Watched({"X2": "feed"}, lines={"X2": Line(word="ON")}, volts={"X2": 12.0}, readings=5), None, None)
        time.sleep(0.95)
    assert "Nothing new comes from the board" in out.file.getvalue()  # type: ignore[attr-defined]
