"""From nothing to a first part: the wiring that is drawn is that of the bare board, and the whole way can be walked."""

from pathlib import Path

import pytest
import yaml

from pulldrop.cli.main import main
from pulldrop.cli.show.drawn import wiring

PINS = yaml.safe_load((Path(__file__).parents[4] / "hardware" / "pins.yaml").read_text(encoding="utf-8"))


def test_the_wiring_that_is_drawn_is_that_of_the_bare_board() -> None:
    rows = [(row["terminal"], row["drive"], row["ohm"], row["sense"]) for row in PINS["bare"]]
    assert list(wiring.BARE) == rows
    drawn = wiring.bare()
    assert all(any(f"{terminal:<8} {drive}" in line and line.endswith(sense) for line in drawn)
               for terminal, drive, _, sense in rows)  # fmt: skip
    assert max(map(len, drawn)) <= 60


def test_the_way_to_a_first_part_can_be_walked_without_a_board(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["quickstart", "--board", "virtual-bare", "--store", ":memory:"])
    said = capsys.readouterr().out
    assert code == 3, "a bare board never says pass"
    steps = ("SIMULATED", "1. Wire it", "2. Leave the socket empty", "The board is well", "3. Put a relay",
             "CHECKED WITHOUT LOAD", "coil resistance", "write ")  # fmt: skip
    assert [said.index(one) for one in steps] == sorted(said.index(one) for one in steps)


def test_nobody_is_asked_where_nobody_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["quickstart"]) == 2
    assert "virtual-bare" in capsys.readouterr().err
