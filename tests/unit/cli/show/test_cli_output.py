"""What a person reads where the terminal is narrow, the disk full, the output closed, or the word wrong."""

import os
import re
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from pulldrop.cli.ask import files
from pulldrop.cli.input_error import InputError
from pulldrop.cli.main import main
from pulldrop.cli.show import screen
from pulldrop.store import Store

COMMAND = [sys.executable, "-m", "pulldrop"]
TEST = [*COMMAND, "test", "--board", "virtual", "--specimen", "burnt-no", "--store", ":memory:"]
ROOT = Path(__file__).parents[4]


@pytest.mark.parametrize("columns", [30, 40, 63, 64])
def test_no_limit_is_cut_by_a_narrow_terminal(columns: int) -> None:
    env = os.environ | {"COLUMNS": str(columns)}
    shown = subprocess.run([*TEST, "-v"], capture_output=True, text=True, env=env, check=False).stdout
    said = re.sub(r"\s+", " ", shown)
    assert "<= 10.0 ms (2)" in said and "<= 200 mV (scale:" in said and "worn) (4)" in said
    assert "30-87 closed, 30-87a open (2)" in said or columns == 64  # there it stands in two lines of its column
    assert max(map(len, shown.splitlines())) <= columns


def test_a_disk_that_is_full_is_told_and_is_no_pass() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(TEST, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert "the disk is full" in done.stderr and "Free some space" in done.stderr


def test_an_output_that_was_closed_changes_no_exit_code() -> None:
    """As a service manager may start a program."""
    done = subprocess.run(["sh", "-c", '"$@" >&-', "sh", *TEST], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, "")


def test_a_report_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    report = tmp_path / "part.html"
    report.write_text("of before")
    whole = Path.write_bytes

    def full(self: Path, content: bytes) -> int:
        whole(self, content[:3])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputError, match=r"part\.html cannot be written \(No space left.*Free some space"):
        files.keep(report, "PASS")
    assert report.read_text() == "of before"
    assert list(tmp_path.iterdir()) == [report]


def test_the_result_is_shown_before_its_report_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(self: Path, content: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    assert main([*TEST[3:], "--report", str(tmp_path / "part.html")]) == 2
    shown = capsys.readouterr()
    assert "[X] FAIL" in shown.out
    assert "The run is kept: pulldrop report run" in shown.err


@pytest.mark.parametrize("group", [[], ["parts"], ["report"], ["protocol"], ["board"], ["calibrate"], ["store"]])
def test_a_list_of_commands_cuts_no_sentence(group: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*group, "--help"]) == 0
    listed = capsys.readouterr().out.split("Commands:")[1]
    assert "..." not in listed and "\n  " in listed


def test_a_mistyped_command_is_answered_with_one_mark(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tset"]) == 2
    told = capsys.readouterr().err
    assert "Did you mean 'test'" in told and "? See" in told and told.count("?") == 1


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["test", "--seed", "abc"], "Invalid value for '--seed': a whole number was expected. See"),
        (["fleet", "--every", "often"], "'--every': a number was expected. See"),
        (["page", "--port", "99999"], "'--port': it should be less than or equal to 65535. See"),
        (["schema", "nope"], "'SUBJECT': 'nope' is not one of 'protocol',"),
    ],
)
def test_a_wrong_value_is_told_in_plain_words(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    assert says in capsys.readouterr().err


def test_a_run_that_is_not_there_is_called_a_run(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    place = ["--out", str(tmp_path / "part.html"), "--store", str(tmp_path / "depot.db")]
    Store.open(str(tmp_path / "depot.db")).close()
    assert main(["report", "run", "20260101T000000-abcdef", *place]) == 2
    assert "There is no run '20260101T000000-abcdef'" in capsys.readouterr().err


def test_a_broken_installation_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "pulldrop.store", None)  # what cannot be imported
    monkeypatch.delitem(sys.modules, "pulldrop.jobs.run.test_one", raising=False)
    assert main(TEST[3:]) == 4
    assert "pulldrop itself failed" in capsys.readouterr().err


VERDICTS = ("[+] pass", "[X] fail", "[+] pass, light duty", "[ ] checked without load", "[?] " + "unsure " * 9)


@pytest.mark.parametrize("verdict", VERDICTS)
def test_a_table_tears_no_id_at_any_width(verdict: str) -> None:
    cells = ("2026-11-28 08:42", verdict, "relay-quick 1", "20261128T084200-d4ee5a")
    for width in range(32, 121):
        table, out = screen.table("started", "verdict", "protocol", "run"), StringIO()
        table.add_row(*cells)
        Console(file=out, width=width).print(table)
        shown = out.getvalue()
        assert [word for cell in cells for word in cell.split() if word not in shown] == [], width
        assert max(map(len, shown.splitlines())) <= width
