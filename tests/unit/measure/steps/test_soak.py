"""Warmth and load bring out what a cold, dry relay hides."""

import pytest
from calibrated import calibrate_virtual

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.judge.diagnosis import diagnose
from pulldrop.measure import StepStarted, perform
from pulldrop.model.reading import Finding, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan


def soaked(**faults: object) -> tuple[Plan, dict[str, Finding]]:
    given = {"title": "invented", "temperature_c": 22.0, "faults": faults}
    at = plan("relay-soak", "class-mini-12v-form-c")
    with VirtualBoard(Specimen.model_validate(given), 6) as board:
        found = [one for one in perform(at, board, calibrate_virtual(6)) if not isinstance(one, StepStarted)]
    return at, {one.id: one for one in found}


def test_five_minutes_warm_the_coil_as_its_physics_say_and_pull_in_is_told_for_85_degrees() -> None:
    at, found = soaked()
    rise, hot = found["coil_rise"], found["pull_in_voltage_85c"]
    assert isinstance(rise, Reading) and isinstance(hot, Reading)
    watts = 13.5**2 / 85.0  # of a cold coil; a warm one takes less
    assert 0.6 * 35.0 * watts < (rise.value or 0.0) < 35.0 * watts
    cold = found["pull_in_voltage_20c"]
    assert isinstance(cold, Reading)
    assert (hot.value or 0.0) / (cold.value or 1.0) == pytest.approx((234.5 + 85) / (234.5 + 20), rel=1e-3)
    assert diagnose(at, found.values()).faults == ()


def test_a_joint_that_opens_when_warm_is_found_and_named() -> None:
    at, found = soaked(coil_opens_above_c=60.0)
    hot = found["coil_resistance_hot"]
    assert isinstance(hot, Reading)
    assert hot.bound == ">"
    assert [one.id for one in diagnose(at, found.values()).faults] == ["opens_hot"]
