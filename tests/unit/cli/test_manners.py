"""What one expects of any command line: version, completion, settings, a doctor, a manual page, a word for a slip."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from pulldrop import __version__
from pulldrop.cli.main import main
from pulldrop.protocol.shipped import library
from pulldrop.protocol.shipped.heads import BENCH_S, heads

COMMAND = [sys.executable, "-m", "pulldrop"]
PROTOCOLS = Path(__file__).parents[3] / "protocols"


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    told = capsys.readouterr()
    return code, told.out, told.err


@pytest.fixture
def config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the settings are, in folders of this test."""
    monkeypatch.setattr("platformdirs.user_config_path", lambda *_, **__: tmp_path / "settings")
    (tmp_path / "settings").mkdir()
    return tmp_path / "settings" / "config.yaml"


def test_the_version_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(capsys, "--version") == (0, f"pulldrop {__version__}\n", "")


@pytest.mark.parametrize(("typed", "found"), [
    ("pulldrop te", {"test"}),
    ("pulldrop test --specimen burnt-", {"burnt-no", "burnt-nc"}),
    ("pulldrop test --board v", {"virtual", "virtual-bare", "virtual-evening"}),
])  # fmt: skip
def test_the_shell_completes_commands_and_names(typed: str, found: set[str]) -> None:
    asked = {"_PULLDROP_COMPLETE": "complete_bash", "COMP_WORDS": typed, "COMP_CWORD": str(len(typed.split()) - 1)}
    done = subprocess.run(COMMAND, capture_output=True, text=True, env=os.environ | asked, check=False)
    assert set(done.stdout.split()) == found


@pytest.mark.parametrize("command", [["test"], ["identify"], ["sort", "shed"], ["board", "info"], ["doctor"]])
def test_a_mistyped_board_is_a_slip_and_no_port(capsys: pytest.CaptureFixture[str], command: list[str]) -> None:
    code, out, err = answer(capsys, *command, "--board", "vitual")
    assert (code, out) == (2, "")
    assert "there is no board 'vitual'; did you mean 'virtual'?" in err


@pytest.mark.parametrize("port", ["/dev/no-such-port", "COM77", "socket://127.0.0.1:9"])
def test_a_port_that_is_not_there_is_no_slip(capsys: pytest.CaptureFixture[str], port: str) -> None:
    assert answer(capsys, "board", "info", "--board", port)[0] == 4


def test_settings_stand_where_an_option_is_left_out(
    capsys: pytest.CaptureFixture[str], config: Path, tmp_path: Path
) -> None:
    config.write_text("board: virtual\noperator: Kim\n", encoding="utf-8")
    code, out, _ = answer(capsys, "test", "--json", "--store", str(tmp_path / "s.db"))
    assert code == 0 and json.loads(out)["operator"] == "Kim"
    code, out, _ = answer(capsys, "test", "--json", "--store", str(tmp_path / "s.db"), "--operator", "Ada")
    assert json.loads(out)["operator"] == "Ada"
    code, out, _ = answer(capsys, "config", "show")
    assert code == 0 and str(config) in out and "Kim" in out


def test_a_store_of_the_settings_is_read_but_takes_no_simulated_run(
    capsys: pytest.CaptureFixture[str], config: Path, tmp_path: Path
) -> None:
    main(["test", "--board", "virtual", "--part", "23Y", "--store", str(tmp_path / "s.db")])
    capsys.readouterr()
    config.write_text(f"store: {tmp_path / 's.db'}\n", encoding="utf-8")
    code, out, _ = answer(capsys, "parts", "list")
    assert code == 0 and "23Y" in out
    main(["test", "--board", "virtual", "--no-look", "--part", "24W"])
    capsys.readouterr()
    assert "24W" not in answer(capsys, "parts", "list")[1]


def test_a_mistake_in_the_settings_has_its_place(capsys: pytest.CaptureFixture[str], config: Path) -> None:
    config.write_text("bord: virtual\n", encoding="utf-8")
    code, _, err = answer(capsys, "test", "--board", "virtual", "--store", ":memory:")
    assert code == 2 and re.search(r"config\.yaml:1:1: .*'bord'", err) and "did you mean 'board'" in err


def test_the_doctor_of_a_sound_virtual_bench_finds_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    store = str(tmp_path / "s.db")
    main(["test", "--board", "virtual", "--store", store])
    capsys.readouterr()
    code, out, _ = answer(capsys, "doctor", "--board", "virtual", "--store", store)
    assert code == 0 and "SIMULATED" in out and "[X]" not in out
    assert "1 parts, 1 runs" in out and "calibration" in out and "browser" in out


def test_the_doctor_says_what_to_do_and_makes_no_store(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("pulldrop.jobs.doctor.candidates", lambda: [])
    code, out, _ = answer(capsys, "doctor", "--store", str(tmp_path / "none.db"))
    assert code == 4 and "[X] port" in out and "Plug the board in" in out
    assert not (tmp_path / "none.db").exists()
    port = tmp_path / "tty"
    port.touch()
    monkeypatch.setattr("os.access", lambda *_: False)
    monkeypatch.setattr("sys.platform", "linux")
    code, out, _ = answer(capsys, "doctor", "--board", str(port))
    assert code == 4 and "you may not use" in out and "dialout" in out


def test_several_files_are_checked_at_once(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    good, bad = PROTOCOLS / "relay-quick.yaml", tmp_path / "bad.yaml"
    bad.write_text("protocol: bad\nversion: x\n", encoding="utf-8")
    code, out, _ = answer(capsys, "protocol", "check", str(good), str(bad))
    assert code == 2 and "relay-quick.yaml: well formed" in out and "bad.yaml:2:" in out
    assert answer(capsys, "protocol", "check", *map(str, sorted(PROTOCOLS.glob("relay-*.yaml"))))[0] == 0


def test_protocols_are_listed_as_purposes_with_their_times(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = answer(capsys, "protocol", "list")
    assert code == 0 and "relay: pulldrop test" in out and "two-terminal: pulldrop pair" in out
    assert re.search(r"relay-quick +quick test +5 s", out) and re.search(r"relay-soak .* 5 min", out)
    assert "te-k-12v-form-c" in out and "TE Connectivity" not in out
    assert "TE Connectivity" in answer(capsys, "protocol", "list", "-v")[1]
    assert {one.name for one in heads()} == {*library.names(), *library.crate_names()}


@pytest.mark.parametrize("name", [name for name in BENCH_S if name != "relay-soak"])
def test_the_times_of_protocols_are_those_of_a_bench(capsys: pytest.CaptureFixture[str], name: str) -> None:
    board = "virtual-bare" if name == "relay-bare" else "virtual"
    command = ["pair", "--rating", "fuse-regular-10a"] if name.startswith("pair") else ["test"]
    main([*command, "--board", board, "--protocol", name, "--store", ":memory:", "--json"])
    assert json.loads(capsys.readouterr().out)["bench_s"] == pytest.approx(BENCH_S[name], rel=0.2)


def test_the_manual_page_has_every_command_and_pleases_its_formatter(capsys: pytest.CaptureFixture[str]) -> None:
    code, page, _ = answer(capsys, "man")
    assert code == 0 and page.startswith(".TH PULLDROP 1")
    for name in ("pulldrop test", "pulldrop parts find", "pulldrop config show"):
        assert f".SS {name}" in page
    made = subprocess.run(
        ["groff", "-man", "-Tascii", "-ww", "-z"], input=page, capture_output=True, text=True, check=False
    )
    assert (made.returncode, made.stderr) == (0, "")


def test_alone_it_says_what_to_do_next_and_makes_nothing(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("pulldrop.store.database.place.user_data_path", lambda *_, **__: tmp_path / "data")
    monkeypatch.setattr("pulldrop.board.ports.candidates", lambda: [])
    code, out, err = answer(capsys)
    assert (code, err) == (0, "") and "pulldrop demo" in out and "pulldrop --help" in out
    monkeypatch.setattr("pulldrop.board.ports.candidates", lambda: ["/dev/ttyUSB7"])
    out = answer(capsys)[1]
    assert "/dev/ttyUSB7" in out and "pulldrop test" in out
    assert not (tmp_path / "data").exists()
