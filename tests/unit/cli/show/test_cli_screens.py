"""What reaches a pipe, a terminal, an old code page; how fast help comes; and the commands besides `test`."""

import json
import os
import pty
import re
import resource
import select
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from work_time import within

from pulldrop.cli.files.schema import Subject
from pulldrop.cli.main import main
from pulldrop.protocol.shipped import library

COMMAND = [sys.executable, "-m", "pulldrop"]
TEST = ["test", "--board", "virtual", "--store", ":memory:"]
ESCAPE = "\x1b"
HELP_S = 0.3


def piped(*arguments: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([*COMMAND, *arguments], capture_output=True, env=os.environ | env, check=False)


def in_terminal(*arguments: str, **env: str) -> tuple[int, str]:
    """Exit code and everything that a terminal of 80 x 24 is sent."""
    ours, theirs = pty.openpty()
    size = {"COLUMNS": "80", "LINES": "24", "TERM": "xterm-256color"}
    process = subprocess.Popen([*COMMAND, *arguments], stdout=theirs, stderr=theirs, env=os.environ | size | env)
    os.close(theirs)
    sent = b""
    while select.select([ours], [], [], 30)[0]:
        try:
            more = os.read(ours, 65536)
        except OSError:  # Linux tells the end of a terminal so
            break
        if not more:
            break
        sent += more
    os.close(ours)
    return process.wait(), sent.decode("utf-8", "replace")


def test_help_comes_within_its_time() -> None:
    """By the processor's clock, for the wall's goes on while others have the processor; all of its time is work."""
    assert within(HELP_S, lambda: piped("--help"), worked_s).returncode == 0


def worked_s() -> float:
    """Processor seconds of every child so far."""
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


@pytest.mark.parametrize(
    "command", [[], ["demo"], ["test"], ["identify"], ["parts"], ["protocol"], ["board"], ["schema"]]
)
def test_every_command_has_help(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*command, "--help"]) == 0
    assert "Usage: pulldrop" in capsys.readouterr().out


def test_a_pipe_gets_no_escape_codes_and_a_line_per_step() -> None:
    out = piped(*TEST).stdout.decode()
    assert ESCAPE not in out
    assert "####" not in out
    assert "\r" not in out.replace("\r\n", "\n")
    assert re.findall(r"^step (\d) of 5: ", out, re.MULTILINE) == ["1", "2", "3", "4", "5"]


def test_no_color_takes_colours_and_nothing_else() -> None:
    code, sent = in_terminal(*TEST, NO_COLOR="1")
    assert code == 0
    numbers = {number for codes in re.findall(r"\x1b\[([0-9;]*)m", sent) for number in codes.split(";")}
    assert numbers <= {"", "0", "1", "2", "7", "22", "27"}, "bold, dim and reverse are no colours"
    assert "\x1b[7m" in sent or "\x1b[1;7m" in sent, "the word is still drawn"
    assert "\x1b[2K" in sent, "and the bar is still redrawn"


def test_a_dumb_terminal_gets_no_escape_codes() -> None:
    assert ESCAPE not in in_terminal(*TEST, TERM="dumb", NO_COLOR="")[1]


def test_a_terminal_with_colour_says_the_same_words() -> None:
    _, sent = in_terminal(*TEST, NO_COLOR="")
    assert ESCAPE in sent
    plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", sent)
    assert re.search(r"\[\+\] PASS   part \w{5}\b", plain)


@pytest.mark.parametrize("arguments", [TEST, ["demo", "--report", os.devnull]], ids=["test", "demo"])
def test_a_terminal_of_an_old_code_page_can_show_everything(arguments: list[str]) -> None:
    code, sent = in_terminal(*arguments, PYTHONIOENCODING="cp1252", PYTHONUTF8="0")
    assert code == 0
    assert sent.isascii()
    assert "Traceback" not in sent


def test_a_word_that_the_code_page_lacks_is_replaced_and_json_keeps_it() -> None:
    old = {"PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}
    label = "реле 12 В"
    assert piped(*TEST, "--label", label, **old).returncode == 0
    record = json.loads(piped(*TEST, "--label", label, "--json", **old).stdout)
    assert record["part"]["label"] == label


@pytest.mark.parametrize("more", [[], ["--json"]], ids=["text", "json"])
def test_a_reader_that_goes_away_is_neither_a_pass_nor_a_fail(more: list[str]) -> None:
    with subprocess.Popen([*COMMAND, *TEST, *more], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout and process.stderr
        process.stdout.close()
        err = process.stderr.read()
    assert process.returncode == 3
    assert err == b""


def test_schemas_are_schemas(capsys: pytest.CaptureFixture[str]) -> None:
    for subject in Subject:
        assert main(["schema", subject]) == 0
        jsonschema.Draft202012Validator.check_schema(json.loads(capsys.readouterr().out))


def asked(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, object]:
    code = main([*arguments, "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_every_json_answer_keeps_its_schema(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    store = str(tmp_path / "runs.db")
    good = tmp_path / "good.yaml"
    bad = tmp_path / "bad.yaml"
    assert main(["protocol", "show", "relay-quick", "--json"]) == 0
    text = json.loads(capsys.readouterr().out)["text"]
    good.write_text(text.replace("protocol: relay-quick", "protocol: good"))
    bad.write_text(text.replace("protocol: relay-quick", "protocol: bad").replace("kind: relay", "kindl: relay"))
    commands = {
        Subject.RESULT: (0, ["test", "--board", "virtual", "--part", "23Y", "--store", store]),
        Subject.IDENTIFIED: (0, ["identify", "--board", "virtual", "--store", store]),
        Subject.PARTS: (0, ["parts", "list", "--store", store]),
        Subject.PART: (0, ["parts", "show", "23Y", "--store", store]),
        Subject.PROTOCOLS: (0, ["protocol", "list"]),
        Subject.PLAN: (0, ["protocol", "show", "relay-full", "--rating", "class-mini-24v-form-a"]),
        Subject.CHECK: (0, ["protocol", "check", str(good)]),
        Subject.CONFIG: (0, ["config", "show"]),
        Subject.DOCTOR: (0, ["doctor", "--board", "virtual", "--store", store]),
        Subject.BOARD: (0, ["board", "info", "--board", "virtual"]),
        Subject.SELF_TEST: (0, ["board", "self-test", "--board", "virtual"]),
        Subject.DEMO: (0, ["demo", "--report", str(tmp_path / "demo.html")]),
        Subject.ERROR: (2, ["parts", "show", "nobody", "--store", store]),
    }
    for subject, (expected, command) in commands.items():
        code, said = asked(capsys, *command)
        assert code == expected, command
        main(["schema", subject])
        jsonschema.Draft202012Validator(json.loads(capsys.readouterr().out)).validate(said)
    code, said = asked(capsys, "protocol", "check", str(bad))
    assert code == 2
    assert isinstance(said, dict) and not said["ok"]
    assert "bad.yaml:" in said["problems"][0] and "kind" in said["problems"][0]


def test_a_rating_of_ones_own_is_checked_as_one(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    shipped = library.find_rating("cit-a1-12v-120ohm-form-c")
    assert main(["protocol", "check", str(shipped)]) == 0
    assert "well formed; cit-a1-12v-120ohm-form-c, Form C, 12 V." in capsys.readouterr().out
    bad = tmp_path / "bad.yaml"
    bad.write_text(shipped.read_text(encoding="utf-8").replace("operate_most", "operate_mst"))
    assert main(["protocol", "check", str(bad)]) == 2
    assert "'operate_mst' is not known here; did you mean 'operate_most'?" in capsys.readouterr().out


def test_the_demo_tests_its_crate_and_leaves_no_trace_in_the_history(tmp_path: Path) -> None:
    report = tmp_path / "crate.html"
    ended = piped("demo", "--report", str(report), XDG_DATA_HOME=str(tmp_path), HOME=str(tmp_path))
    out = ended.stdout.decode()
    assert ended.returncode == 0
    assert out.startswith(" SIMULATED")
    assert re.search(r"10 parts: .*pass.*", out)
    assert out.splitlines()[-1].strip().startswith("pulldrop test --board virtual")
    assert "SIMULATED" in report.read_text(encoding="utf-8")
    assert list(tmp_path.rglob("*.db")) == []


def test_a_part_in_the_socket_is_noticed_by_the_self_test(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from pulldrop.jobs.run import boards, specimens

    monkeypatch.setattr(boards, "empty_socket", lambda: specimens.find("good-12v-changeover"))
    assert main(["board", "self-test", "--board", "virtual"]) == 4
    out = " ".join(capsys.readouterr().out.split())
    assert "take it out" in out
    assert "NOT well" in out


def test_no_long_word_squeezes_the_outcome_from_the_screen() -> None:
    ended = piped("test", "-v", "--board", "virtual", "--protocol", "relay-diagnose", "--store", "sqlite://")
    lines = ended.stdout.decode().splitlines()
    assert all(len(line) <= 80 for line in lines)
    rows = [line for line in lines if line.startswith(("[+] pass", "[.] noted", "[X] fail", "[?] unsure", "[-] not"))]
    assert len(rows) >= 25, "an outcome for every measurement"


def test_a_light_duty_part_says_so_in_a_terminal_of_24_lines() -> None:
    """Its sentences are the longest of all."""
    light = ["--specimen", "thin-blades", "--protocol", "relay-diagnose"]
    code, sent = in_terminal(*TEST, *light, NO_COLOR="1")
    sent = re.sub(r"\x1b\[1;7m( +)", lambda found: "#" * len(found[1]), sent)
    sent = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", sent)
    assert code == 0
    lines = [line.rstrip() for line in sent.replace("\r", "").rstrip("\n").split("\n")]
    in_sight = lines[-23:]
    assert any(re.fullmatch(r"  \[\+\] PASS, LIGHT DUTY   part \w{5}", line) for line in in_sight)
    assert any("####" in line for line in in_sight), "the mark in big letters"
    assert "    ######      ####    ########  ########" not in sent, "PASS alone is not what two metres should read"
    assert any(line.startswith("next   Mark it light duty") for line in in_sight)
