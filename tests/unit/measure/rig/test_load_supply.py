"""A load supply beyond what the bench was built for is reported, and nothing is ever loaded from it."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from pulldrop.board.errors import WrongSupply
from pulldrop.board.request_types import Branch, Pulse, Watch
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.virtual import CalibratingHand
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test, with_hands
from pulldrop.jobs.self_test.talk import converse
from pulldrop.measure import perform
from pulldrop.measure.rig import load_supply
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import PulseCounts, ShuntWatch
from pulldrop.plant.bench import instruments
from pulldrop.plant.bench.frontend import LOAD_V
from pulldrop.plant.bench.instruments import Garage
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

SEED = 5


class Bench(VirtualBoard):
    """A bench whose load supply is of some volts; a load through a branch is remembered."""

    def __init__(self, part: Specimen, volts: float) -> None:
        super().__init__(part, SEED)
        self.plant.frontend = replace(self.plant.frontend, load_supply=volts / LOAD_V - 1)
        self.loaded: list[Branch] = []

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        self.loaded += [pulse.branches] if pulse.branches else []
        return super().load_pulse(pulse)

    def watch_load(self, watch: Watch) -> ShuntWatch:
        self.loaded.append(watch.branches)
        return super().watch_load(watch)


def good() -> Specimen:
    return specimens.find("good-12v-changeover").specimen


@pytest.mark.parametrize("volts", [11.0, 14.8])
def test_a_12_v_battery_is_taken(volts: float) -> None:
    assert load_supply.there(Bench(good(), volts))


@pytest.mark.parametrize("volts", [17.0, 24.0])
def test_more_than_16_v_is_refused_with_what_was_read_and_what_to_do(volts: float) -> None:
    with pytest.raises(WrongSupply, match=r"reads \d\d\.\d V.*12 V battery.*Press the emergency stop.*Z1 and Q11"):
        load_supply.there(Bench(good(), volts))


RUNS: dict[str, Callable[[Bench], object]] = {
    "full": lambda board: list(perform(plan("relay-full", "class-mini-12v-form-c"), board, nominal(0))),
    "link": lambda board: converse(with_hands(board, nominal(0)), CalibratingHand(board, Garage(SEED), 0.1)),
}


@pytest.mark.parametrize("run", RUNS)
def test_a_24_v_battery_that_came_past_the_lock_out_loads_nothing(run: str) -> None:
    board = Bench(good() if run == "full" else instruments.empty(), 28.8)
    with pytest.raises(WrongSupply):
        RUNS[run](board)
    assert board.loaded == []
    assert not board.status().on


def test_the_self_test_tells_it_as_wrong_and_goes_on() -> None:
    checks = {check.title: check for check in self_test(Bench(instruments.empty(), 28.8), nominal(0))}
    assert checks["load supply"].state == "wrong"
    assert checks["scan lines"].state == "ok"
