"""The compiled firmware, through its serial port, leads to the same named fault: one part in stock for each fault."""

import sys
from pathlib import Path

import pytest

from pulldrop.board.contract import Trip
from pulldrop.board.errors import Tripped
from pulldrop.jobs.boards import open_socket
from pulldrop.jobs.calibrate_virtual import calibrate_virtual
from pulldrop.jobs.hands import virtual_hand
from pulldrop.jobs.specimens import find
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure import StepStarted, perform
from pulldrop.model.plan import ClimbStep, HotStep, MotionStep, Plan, SurfaceStep, TackStep, TimingStep

sys.path.append(str(Path(__file__).parents[1] / "unit"))
from stock_faults import NAMED, plan_for

SEED = 2
FEWEST = {
    MotionStep: {"makes": 3},
    SurfaceStep: {"makes": 6},
    TimingStep: {"makes": 3},
    TackStep: {"makes": 3},
    ClimbStep: {"pulses": 4},
    HotStep: {"makes": 2},
}
"""So few loads that the board's duty limit makes nobody wait: the emulated board keeps real time."""


def shortened(at: Plan) -> Plan:
    """The same steps with few makes."""
    return at.model_copy(update={"steps": tuple(s.model_copy(update=FEWEST.get(type(s), {})) for s in at.steps)})


@pytest.mark.slow
@pytest.mark.parametrize("name", [*NAMED, "good-12v-changeover"])
def test_the_emulated_board_names_what_is_wrong_with_a_part_in_stock(name: str) -> None:
    try:
        named = told(name)
    except Tripped as off:  # a machine that stands still for half a second is a computer lost, and rightly so
        if off.trip is not Trip.LEASE:
            raise
        named = told(name)
    assert named[:1] == ([NAMED[name]] if name in NAMED else [])


def told(name: str) -> list[str]:
    """Ids of the faults that a run on the emulated board names, the most probable first."""
    part = find(name)
    at = shortened(plan_for(name, part.specimen))
    with open_socket("emulated", part, SEED) as opened:
        assert opened.leads
        steps = perform(at, opened.board, calibrate_virtual(SEED), hand=virtual_hand(opened.leads))
        found = [one for one in steps if not isinstance(one, StepStarted)]
    return [one.id for one in diagnose(at, found)]
