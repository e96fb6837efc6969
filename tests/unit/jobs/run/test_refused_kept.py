"""A part that the look refuses for a fault has a record all the same: what it is, nothing tested, and never a pass."""

import json
from pathlib import Path

import pytest

from pulldrop.cli.main import main

TEST = ("test", "--board", "virtual", "--rating", "class-mini-12v-form-c")


@pytest.mark.parametrize(
    ("specimen", "fault", "word"),
    [
        ("reversed-diode", "diode_reversed", "do not energise"),
        ("shorted-coil", "coil_shorted", "do not energise"),
        ("exchanged-layout", "exchanged_layout", "do not energise"),
        ("wrong-coil-voltage", "wrong_voltage", "another kind"),
    ],
)
def test_the_fault_stands_in_the_answer_the_store_and_the_report(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, specimen: str, fault: str, word: str
) -> None:
    kept = ("--store", str(tmp_path / "history.db"))
    code = main([*TEST, "--specimen", specimen, "--part", "K7", *kept, "--report", str(tmp_path / "k7.html"), "--json"])
    told = json.loads(capsys.readouterr().out)
    (named,) = told["faults"]
    assert (code, told["verdict"]["overall"], named["id"]) == (3, word, fault)
    assert named["advice"] == told["verdict"]["next"] and told["verdict"]["found"].startswith("Nothing was tested: ")
    assert {one["outcome"] for one in told["judged"]} == {"not tested"}
    assert named["title"] in (tmp_path / "k7.html").read_text(encoding="utf-8")
    assert main(["parts", "show", "K7", *kept]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert f"(1) {named['title']}" in shown and f"{word.upper()} part K7" in shown
    assert named["title"] in told["verdict"]["means"]


def test_a_sound_part_that_is_refused_for_its_blades_is_no_run(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    kept = ("--store", str(tmp_path / "history.db"))
    assert main([*TEST, "--specimen", "twin-87", "--part", "K8", *kept]) == 3
    assert "Nothing was tested" in capsys.readouterr().err
    assert main(["parts", "show", "K8", *kept]) == 2
