"""`pulldrop switch`: a run like any other, kept, compared with a table and with last time; refused where it must be."""

import json
from pathlib import Path
from typing import Any

import pytest

from pulldrop.cli.main import main
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.report import html
from pulldrop.store import Store

LIGHT = """\
title: an invented light switch
kind: switch
terminals: ["30", "58", "56", "56a"]
positions: {"off": [], park: [30-58], head: [30-58, 30-56], flash: [30-58, 30-56a]}
springs: {flash: head}
"""
SCREEN = ["switch", "--board", "virtual", "--rating", "bus-light-switch"]


def written(folder: Path, text: str) -> str:
    file = folder / "switch.yaml"
    file.write_text(text)
    return str(file)


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> pytest.CaptureFixture[str]:
    monkeypatch.setenv("COLUMNS", "120")
    return capsys


def run(said: pytest.CaptureFixture[str], *more: str) -> tuple[int, Any]:
    """Exit code and record of a run."""
    code = main(["switch", "--board", "virtual", "--json", *more])
    return code, json.loads(said.readouterr().out)


def test_a_shipped_table_is_learnt_and_agrees(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    assert main([*SCREEN, "--store", str(tmp_path / "kept.db"), "--report", str(tmp_path / "r.pdf")]) == 3
    told = said.readouterr().out
    assert "SIMULATED" in told and "CHECKED WITHOUT LOAD" in told
    assert "the table bus-light-switch" in told
    assert "head      A   A   A   ." in told
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")


def test_a_fault_fails_and_is_shown_by_history_and_report(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path, LIGHT.replace("head: [30-58, 30-56]", "head: [30-56]"))
    kept = ["--store", str(tmp_path / "kept.db")]
    assert main([*SCREEN, "--specimen", file, *kept, "--part", "S1"]) == 1
    words = "30-58 is not joined in position head, and should be"
    assert words in said.readouterr().out
    assert main(["parts", "show", "S1", *kept]) == 0
    told = said.readouterr().out
    assert words in told and "head      A   .   A   ." in told
    with Store.open(kept[1]) as store:
        page = html.page([store.record(store.runs("S1")[0].run)])
    assert words in page and "SIMULATED" in page
    assert '<th scope="row">head</th><td>A</td><td>.</td><td>A</td><td>.</td>' in page
    assert main(["store", "verify", *kept]) == 0


def test_a_live_switch_is_refused(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path, LIGHT + 'faults: {live: {"30": 12.6}}\n')
    code, record = run(said, "--rating", "bus-light-switch", "--specimen", file, "--store", ":memory:")
    assert code == 3 and record["verdict"]["overall"] == "incomplete"
    assert "terminal 30 has volts of its own" in record["verdict"]["found"]


def test_a_switch_is_compared_with_its_own_first_table(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    kept, good = ["--store", str(tmp_path / "kept.db"), "--part", "S1"], written(tmp_path, LIGHT)
    code, first = run(said, "--specimen", good, "--label", "from a bus", *kept)
    assert code == 3 and first["verdict"]["found"].startswith("Its table was learnt.")
    code, again = run(said, "--specimen", good, "--seed", "5", *kept)
    assert code == 3 and again["verdict"]["overall"] == "checked without load"
    assert [one["outcome"] for one in again["judged"]] == ["pass", "pass"]
    bad = written(tmp_path, LIGHT.replace("flash: [30-58, 30-56a]", "flash: [30-56a]"))
    code, worse = run(said, "--specimen", bad, *kept)
    assert code == 1 and worse["simulated"]
    assert worse["plan"]["rating"]["rating"] == "as-first-learnt"
    assert worse["judged"][0]["reason"] == "30-58 is not joined in position 4, and should be"
    assert main(["store", "import", kept[1], "--store", str(tmp_path / "cabin.db")]) == 0
    with Store.open(str(tmp_path / "cabin.db")) as store:
        assert store.record(worse["run"]).judged[0].finding.state == SwitchTable.model_validate(
            worse["judged"][0]["finding"]["state"]
        )


def test_a_table_that_may_lack_a_position_is_no_verdict(said: pytest.CaptureFixture[str]) -> None:
    """Three positions are counted, and four are there."""
    code, record = run(said, "--rating", "bus-light-switch", "--positions", "3", "--store", ":memory:")
    assert code == 3 and record["verdict"]["overall"] == "unsure"
    assert "4 positions were found, and 3 were said" in record["verdict"]["means"]


def test_a_worn_contact_fails_by_its_ohms(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path, LIGHT + "contact_mohm: 1500\n")
    code, record = run(said, "--rating", "bus-light-switch", "--specimen", file, "--store", ":memory:")
    table, joint = record["judged"]
    assert (code, table["outcome"], joint["outcome"]) == (1, "pass", "fail")
    assert 1.4 < joint["finding"]["value"] < 3.0


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--terminals", "30,58,5 6"], "is no terminal"),
        (["--terminals", "30,30"], "named twice"),
        (["--terminals", "1,2,3,4,5,6,7,8,9"], "takes 2 to 8"),
    ],
)
def test_what_does_not_suit_is_an_input_error(more: list[str], words: str, said: pytest.CaptureFixture[str]) -> None:
    assert main([*SCREEN, *more, "--store", ":memory:"]) == 2
    assert words in said.readouterr().err
