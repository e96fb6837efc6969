"""`pulldrop switch`: the table on the screen, compared, kept and compared again; refused where it must be."""

import json
from pathlib import Path

import pytest

from pulldrop.cli.main import main

LIGHT = """\
title: an invented light switch
kind: switch
terminals: ["30", "58", "56", "56a"]
positions: {"off": [], park: [30-58], head: [30-58, 30-56], flash: [30-58, 30-56a]}
springs: {flash: head}
"""
SCREEN = ["switch", "--board", "virtual", "--table", "bus-light-switch"]


def written(folder: Path, text: str) -> str:
    file = folder / "switch.yaml"
    file.write_text(text)
    return str(file)


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> pytest.CaptureFixture[str]:
    monkeypatch.setenv("COLUMNS", "120")
    return capsys


def test_a_shipped_table_is_learnt_and_agrees(said: pytest.CaptureFixture[str]) -> None:
    assert main(SCREEN) == 0
    told = said.readouterr().out
    assert "SIMULATED" in told
    assert "AS IN THE TABLE bus-light-switch" in told
    assert "head      A   A   A   ." in told


def test_a_fault_is_named_and_ends_with_1(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path, LIGHT.replace("head: [30-58, 30-56]", "head: [30-56]"))
    assert main([*SCREEN, "--specimen", file]) == 1
    assert "30-58 is not joined in position head, and should be" in said.readouterr().out


def test_a_live_switch_is_refused(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path, LIGHT + 'faults: {live: {"30": 12.6}}\n')
    assert main([*SCREEN, "--specimen", file]) == 3
    assert "terminal 30 has volts of its own" in said.readouterr().err


def test_a_table_is_kept_and_compared_again(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    store, good = str(tmp_path / "kept.db"), written(tmp_path, LIGHT)
    assert main([*SCREEN, "--store", store, "--keep", "S1", "--label", "from a bus"]) == 0
    assert main(["switch", "--board", "virtual", "--part", "S1", "--store", store, "--specimen", good]) == 0
    said.readouterr()
    bad = written(tmp_path, LIGHT.replace("flash: [30-58, 30-56a]", "flash: [30-56a]"))
    assert main(["switch", "--board", "virtual", "--part", "S1", "--store", store, "--specimen", bad, "--json"]) == 1
    answer = json.loads(said.readouterr().out)
    assert answer["simulated"]
    assert answer["reference"] == "S1"
    assert [one["text"] for one in answer["comparison"]["differences"]] == [
        "30-58 is not joined in position flash, and should be"
    ]
    assert main(["store", "verify", "--store", store]) == 0


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--terminals", "30,58,5 6"], "is no terminal"),
        (["--terminals", "30,30"], "named twice"),
        (["--terminals", "1,2,3,4,5,6,7,8,9"], "takes 2 to 8"),
        (["--part", "X"], "both name a table"),
    ],
)
def test_what_does_not_suit_is_an_input_error(more: list[str], words: str, said: pytest.CaptureFixture[str]) -> None:
    assert main([*SCREEN, *more]) == 2
    assert words in said.readouterr().err
