"""A newcomer at a terminal of 80x24 and of 60 columns: first run, single test, crate of every outcome, history, paper.

Rule: what a person reads in one place is what is read in the next: same verdict, same id, same digits, SIMULATED.
"""

import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from fcntl import ioctl
from pathlib import Path

import pypdfium2
import pytest

from pulldrop.cli.main import main
from pulldrop.jobs.run.specimens import find
from pulldrop.protocol.shipped import library

COMMAND = [sys.executable, "-m", "pulldrop"]
ROWS, LIMIT_S = 24, 90
CRATE = ("good-12v-changeover", "dead-nc", "burnt-no", "reversed-diode")
"""One part for each bin, by the crate's rules: keep, light duty, scrap, look again."""
BINS = ("KEEP", "LIGHT DUTY", "SCRAP", "LOOK AGAIN")
ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


class Newcomer:
    """A person at a terminal so wide, with folders of his own."""

    def __init__(self, columns: int, home: Path) -> None:
        self.columns, self.home = columns, home
        self.store = str(home / "first.db")
        folders = {name: str(home / name) for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME")}
        self._env = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "LINES")}
        self._env |= {"TERM": "xterm-256color", "HOME": str(home)} | folders

    def types(self, *arguments: str, key: str = "", at: bytes = b"Esc: ") -> tuple[int, str]:
        """Exit code and all that was shown, without colours; `key` is pressed once `at` is on the screen."""
        ours, theirs = pty.openpty()
        ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, self.columns, 0, 0))
        process = subprocess.Popen([*COMMAND, *arguments], stdin=theirs, stdout=theirs, stderr=theirs, env=self._env)
        os.close(theirs)
        sent, until, pressed = b"", time.monotonic() + LIMIT_S, not key
        while time.monotonic() < until and select.select([ours], [], [], LIMIT_S)[0]:
            try:
                more = os.read(ours, 65536)
            except OSError:  # Linux says the end of a terminal so
                break
            if not more:
                break
            sent += more
            if not pressed and at in sent:
                time.sleep(0.3)
                os.write(ours, key.encode())
                pressed = True
        os.close(ours)
        if process.poll() is None and time.monotonic() >= until:
            process.kill()
        shown = ESCAPES.sub("", sent.decode("utf-8", "replace")).replace("\r\n", "\n")
        shown = "\n".join(line.rpartition("\r")[2] for line in shown.split("\n"))  # a bar is redrawn over itself
        return process.wait(LIMIT_S), shown


@pytest.fixture(params=[80, 60])
def newcomer(request: pytest.FixtureRequest, tmp_path: Path) -> Newcomer:
    return Newcomer(request.param, tmp_path)


def widest(shown: str) -> int:
    """Of its lines."""
    return max(len(line.rstrip()) for line in shown.split("\n"))


def test_the_first_run_says_what_to_do_next(newcomer: Newcomer) -> None:
    code, shown = newcomer.types()
    assert code == 0 and "pulldrop demo" in shown and "pulldrop quickstart" in shown
    assert shown.count("\n") < ROWS and widest(shown) <= newcomer.columns
    assert not (newcomer.home / "XDG_DATA_HOME").exists(), "looking makes nothing"
    assert newcomer.types("protocol", "list")[0] == 0


def test_a_single_test_is_agreed_to_and_ends_on_one_screen(newcomer: Newcomer) -> None:
    single = ("test", "--board", "virtual", "--store", newcomer.store, "--specimen", "burnt-no")
    code, shown = newcomer.types(*single, "--ask", key=" ")
    assert code == 1 and "relay-quick, about 5 s" in " ".join(shown.split())
    end = shown.rstrip("\n").split("\n")[-(ROWS - 1) :]
    told = " ".join(" ".join(end).split())
    (id,) = re.findall(r"\[X\] FAIL +part (\w{5})", told)
    assert f"write {id} on the part" in told and "cause contact 87 burnt or pitted" in told and "next " in told
    assert "SIMULATED" in told and "contact drop of 87 (NO)" in told
    assert widest(shown) <= newcomer.columns
    (drop,) = set(re.findall(r"\[X\](?: fail)? contact drop of 87 \(NO\) +([\d.]+ m?V \+-[\d.]+) ", told))
    code, kept = newcomer.types("parts", "show", id, "--store", newcomer.store)
    assert code == 0 and drop in " ".join(kept.split()), "the same digits in the part's own record"
    code, listed = newcomer.types("parts", "list", "--store", newcomer.store)
    assert code == 0 and re.search(rf"{id} +\[X\] fail", listed) and "SIMULATED" in listed


def test_a_crate_of_every_outcome_says_the_same_on_screen_and_paper(newcomer: Newcomer) -> None:
    folder = newcomer.home / "parts"
    folder.mkdir()
    for number, name in enumerate(CRATE, start=1):
        (folder / f"{number}.yaml").write_text(find(name).text, encoding="utf-8")
    crate = (
        "sort",
        "north shed",
        "--board",
        "virtual",
        "--specimens",
        str(folder),
        "--plain",
        "--store",
        newcomer.store,
    )
    code, shown = newcomer.types(*crate)
    told = " ".join(shown.split())
    assert code == 0 and "SIMULATED" in told
    for number, bin in enumerate(BINS, start=1):
        assert f"{number} {bin}: Write {number} on it, put it in the {bin} box." in told, told
    scrap = told.partition("3 SCRAP: ")[2].partition("LOOK AGAIN: ")[0]
    assert "Take care with the number" not in scrap
    code, listed = newcomer.types("parts", "list", "--store", newcomer.store)
    assert code == 0 and "crate north shed 1" in " ".join(listed.split())
    code, said = newcomer.types("report", "labels", "north shed", "--out", str(newcomer.home / "l.pdf"), "--store",
                                newcomer.store)  # fmt: skip
    assert code == 0 and "2 labels" in said
    paper = pypdfium2.PdfDocument(newcomer.home / "l.pdf")[0].get_textpage().get_text_range()
    assert "KEEP" in paper and "LIGHT DUTY" in paper and "SCRAP" not in paper and paper.count("SIMULATED") == 2
    digits = re.search(r"drop of 87 ([\d.]+ mV)", told)
    assert digits and f"drop of 87 {digits[1]}" in " ".join(paper.split()), "screen and label show the same digits"


def test_the_history_of_a_part_goes_on_paper(newcomer: Newcomer) -> None:
    for seed in ("1", "2"):
        single = ("test", "--board", "virtual", "--part", "23Y", "--seed", seed, "--store", newcomer.store)
        code, shown = newcomer.types(*single)
        assert code == 0 and "on the part, with a pen" not in shown, "its number is on it"
    file = newcomer.home / "h.pdf"
    code, shown = newcomer.types("health", "23Y", "--store", newcomer.store, "--report", str(file))
    assert code == 0 and "SIMULATED" in shown and widest(shown.partition("Report:")[0]) <= newcomer.columns
    assert "Mann-Kendall" not in shown and len(pypdfium2.PdfDocument(file)) <= 3


@pytest.mark.parametrize(
    "command",
    [
        ["identify", "--board", "virtual", "--specimen", "exchanged-layout"],
        ["identify", "--board", "virtual"],
        ["socket", "--board", "virtual-bare", "--vehicle", "heritage-bus-12"],
        ["test", "--board", "virtual", "--specimen", "normally-closed"],
        ["test", "--board", "virtual", "--specimen", "magnetised"],
        ["pair", "--board", "virtual", "--rating", "fuse-regular-10a"],
        ["switch", "--board", "virtual"],
        ["calibrate", "--board", "virtual"],
    ],
    ids=lambda command: f"{command[0]} {command[-1]}",
)
def test_the_last_screen_of_a_simulated_board_says_so(
    command: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    main(command)
    assert "SIMULATED" in "\n".join(capsys.readouterr().out.splitlines()[-23:])


def test_an_error_tears_no_name_on_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    assert main(["pair", "--board", "virtual"]) == 2
    told = capsys.readouterr().err
    assert max(map(len, told.splitlines())) <= 60
    names = [one.rstrip(",;") for one in told.split() if one.startswith(("fuse-", "lamp-"))]
    assert names == [*library.rating_names("two-terminal")]


def test_a_fuse_that_is_not_rated_is_answered_with_the_nearest_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pair", "--board", "virtual", "--rating", "fuse-ato-10a"]) == 2
    assert "did you mean 'fuse-" in capsys.readouterr().err
