"""`pulldrop hunt` in a simulated cabin: proved and said, gone on with, compared with the last time, refused."""

import json
from pathlib import Path

import pytest

from pulldrop.cli.main import main

COACH = ["hunt", "touring-coach-7", "--board", "virtual-bare"]


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A hunt in the coach, from its first step to its proof."""
    file = tmp_path_factory.mktemp("hunt") / "coach.jsonl"
    assert main([*COACH, "--log", str(file)]) == 0
    return file


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> pytest.CaptureFixture[str]:
    monkeypatch.setenv("COLUMNS", "80")
    return capsys


def test_three_conditions_and_an_inhibitor_are_proved(log: Path, said: pytest.CaptureFixture[str]) -> None:
    assert main([*COACH, "--log", str(log)]) == 0
    told = said.readouterr().out
    assert "SIMULATED" in "\n".join(told.splitlines()[-22:]), "on the screen of the answer"
    assert "PROVED: trigger of the luggage lamps" in told
    assert "key at ON and side lamps at on and bay lamps at on and saloon" in told
    assert "|-- (saloon lamps not at full)" in told
    assert "door (it moves)" in told
    assert max(map(len, told.splitlines())) <= 80


def test_what_was_asked_never_moves_what_does_harm(log: Path) -> None:
    lines = [json.loads(line) for line in log.read_text().splitlines()[1:]]
    moved = {move["control"] for line in lines for move in line.get("moves", ())}
    assert moved and not moved & {"door", "night heater"}
    assert all(move["position"] != 3 for line in lines for move in line.get("moves", ()) if move["control"] == "key")


def test_as_json_and_beside_the_last_time(log: Path, tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    older = tmp_path / "older.jsonl"
    older.write_text("\n".join(log.read_text().splitlines()[:6]) + "\n")
    said.readouterr()
    assert main([*COACH, "--log", str(log), "--last", str(older), "--json"]) == 0
    answer = json.loads(said.readouterr().out)
    assert answer["simulated"] and answer["outcome"]["grade"] == "proved"
    assert "grade" in [one["kind"] for one in answer["changes"]]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["hunt", "touring-coach-8", "--board", "virtual-bare"], "did you mean 'touring-coach-7'?"),
        ([*COACH, "--vehicle", "coach-21"], "has a control 'isolator', and the cabin none of that name"),
        ([*COACH, "--vehicle", "depot-van-3"], "has a control 'work lamp switch'"),
        ([*COACH, "--play"], "nobody plays in a simulated cabin"),
        (["hunt", "touring-coach-7", "--board", "virtual-evening"], "virtual-bare"),
    ],
)
def test_bad_use_gets_a_sentence(arguments: list[str], sentence: str, said: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    assert sentence in " ".join(said.readouterr().err.split())


def test_a_log_that_was_changed_is_refused_and_left(
    log: Path, said: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    changed = tmp_path / "changed.jsonl"
    changed.write_text(log.read_text().replace('"position":1', '"position":9'))
    before = changed.read_bytes()
    assert main([*COACH, "--log", str(changed)]) == 2
    assert "no log of a hunt, or was changed" in " ".join(said.readouterr().err.split())
    assert changed.read_bytes() == before
