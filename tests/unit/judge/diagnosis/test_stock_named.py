"""Every part in stock is named for what is wrong with it, and the sound ones for nothing.

Those of the sample on both boards are named there, by the same steps with fewer makes (tests/emulator).
"""

import os
import subprocess
import sys

import pytest
from calibrated import calibrate_virtual
from stock_faults import NAMED, ON_BOTH_BOARDS, TAKEN_FOR_ANOTHER, WITHOUT_PROTOCOL, plan_for

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.jobs.run.specimens import find
from pulldrop.judge.diagnosis import diagnose
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.measure import StepStarted, perform
from pulldrop.plant import stock


@pytest.mark.parametrize("name", sorted({*stock.names()} - {*WITHOUT_PROTOCOL, *ON_BOTH_BOARDS}))
def test_a_part_in_stock_is_named_for_what_is_wrong_with_it(name: str) -> None:
    specimen = find(name).specimen
    at = plan_for(name, specimen)
    with VirtualBoard(specimen, 2) as board:
        steps = perform(at, board, calibrate_virtual(2), hand=virtual_hand(board.exchange_leads))
        found = [one for one in steps if not isinstance(one, StepStarted)]
    named = [one.id for one in diagnose(at, found).faults]
    assert named[:1] == [NAMED[name]] if name in NAMED else named == []


def test_every_fault_that_can_be_named_has_a_part_in_stock() -> None:
    assert {*NAMED.values(), *TAKEN_FOR_ANOTHER} == {fault.id for fault in FAULTS}
    assert set(NAMED) <= set(stock.names())


MANY = """
from test_diagnosis import told
late = dict(operate_time=4e-3, release_time=9e-3, bounce_time_no=4e-3, bounce_time_nc=5e-3)
for ma in range(20, 60, 4):
    print([(one.id, one.weight) for one in told(pull_in_current=ma / 1e3, drop_out_voltage=0.5, **late)])
"""


def test_the_same_readings_are_told_the_same_in_every_process() -> None:
    """To the last digit: what two faults change together is added up in one order."""
    told = [
        subprocess.run(
            [sys.executable, "-c", MANY], capture_output=True, text=True, check=True,
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
        ).stdout
        for seed in ("1", "2")
    ]  # fmt: skip
    assert "residual_magnetism" in told[0] and "bouncing" in told[0] and told[0] == told[1]
