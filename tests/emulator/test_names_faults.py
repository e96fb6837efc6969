"""The compiled firmware, through its serial port, leads to the same named fault for every part in stock."""

import sys
from pathlib import Path

import pytest

from pulldrop.jobs.boards import open_board
from pulldrop.jobs.calibrate_virtual import calibrate_virtual
from pulldrop.jobs.specimens import find
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure import StepStarted, perform
from pulldrop.protocol.load import plan

sys.path.append(str(Path(__file__).parents[1] / "unit"))
from stock_faults import NAMED

SEED = 2


@pytest.mark.slow
@pytest.mark.parametrize("name", [*NAMED, "good-12v-changeover"])
def test_the_emulated_board_names_what_is_wrong_with_a_part_in_stock(name: str) -> None:
    part = find(name)
    at = plan(f"relay-5t-{part.specimen.nominal_v:g}v-diagnose")
    with open_board("emulated", part, SEED) as board:
        found = [one for one in perform(at, board, calibrate_virtual(SEED)) if not isinstance(one, StepStarted)]
    assert [one.id for one in diagnose(at, found)][:1] == ([NAMED[name]] if name in NAMED else [])
