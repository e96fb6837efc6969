"""A newcomer with a dead circuit and a bare Nano's lead: from complaint to broken leg, on the compiled firmware."""

from pathlib import Path

import pytest

from pulldrop.cli.main import main
from pulldrop.plant.vehicle import stock

COMPLAINT = "the destination blinds of heritage bus 12 stay dark"
VEHICLE = "heritage-bus-12"


def test_a_newcomer_comes_from_the_complaint_to_the_broken_leg(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    assert "blinds" in COMPLAINT and VEHICLE in stock.names()
    assert main(["--help"]) == 0
    help_text = capsys.readouterr().out
    assert "socket" in help_text and "watch" in help_text, "the newcomer finds both by the help"
    log = tmp_path / "bus.jsonl"
    assert main(["socket", "--board", "emulated-bare", "--vehicle", VEHICLE, "--log", str(log)]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert "SIMULATED" in out and "ground at cavity 85" in out and "Follow its wire to the ring" in out
    assert main(["watch", "--board", "emulated-bare", "--vehicle", VEHICLE, "--line", "feed", "--line", "trigger",
                 "--line", "ground", "--seconds", "2.6", "--log", str(tmp_path / "watch.jsonl")]) == 0  # fmt: skip
    assert "trigger ON" in " ".join(capsys.readouterr().out.split())
