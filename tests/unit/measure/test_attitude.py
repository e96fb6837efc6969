"""The armature's weight adds to its springs, so what they decide says in which attitude it was measured."""

import pytest
from truth import thresholds, times

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.measure.rig.readings import ATTITUDE
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Reading
from pulldrop.plant.relay.classes import Base
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

SPRUNG = ("pull_in_voltage", "drop_out_voltage", "operate_time", "release_time")


def test_thresholds_and_times_say_in_which_attitude_they_hold() -> None:
    with VirtualBoard(Specimen(title="invented"), 3) as board:
        found = perform(plan("relay-quick", "class-mini-12v-form-c"), board, nominal(3))
        said = {one.id: one for one in found if not isinstance(one, StepStarted) and isinstance(one, Reading)}
    for id in SPRUNG:
        assert any(one.text == ATTITUDE.text and one.name == "attitude" for one in said[id].conditions), id


@pytest.mark.parametrize("base", ["mini_12v_changeover", "mini_12v_normally_open", "micro_12v_changeover"])
def test_15_mn_of_weight_change_them_by_about_one_percent(base: Base) -> None:
    """Half of the weight of an armature of 1.5 to 2 g, either way."""

    def true(newton: float) -> dict[str, float]:
        part = Specimen(title="invented", base=base, temperature_c=20.0)
        arm = part.armature.model_copy(update={"return_n": part.armature.return_n + newton})
        part = part.model_copy(update={"armature": arm})
        return thresholds(part, 12.0) | times(part, 12.0, moves=1)

    upright, upended = true(0.0), true(15e-3)
    moved = [abs(upended[id] / upright[id] - 1) for id in SPRUNG]
    assert 0.004 < max(moved) < 0.0125
