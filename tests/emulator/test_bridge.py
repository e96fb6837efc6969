"""Behind a USB bridge that holds answers back for 16 ms a quick test still ends within its goal."""

from pathlib import Path

from bridge import Bridge

from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.machine import Machine
from pulldrop.emulator.memory import eeprom
from pulldrop.measure import perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

LATENCY_S, GOAL_S = 0.016, 6.25


def test_a_quick_test_behind_a_slow_bridge_takes_no_more_than_its_goal(elf: Path) -> None:
    """9.5 s when every answer waited for the bridge's timer; 4.5 s without a bridge. Insulation takes 0.2 s since."""
    machine = Machine(elf, Bench(Specimen(title="invented: a good relay"), None), eeprom())
    bridge = Bridge(machine, LATENCY_S)
    bridge.sleep(0.01)
    with SerialBoard(bridge, "a bridge", bridge.clock, bridge.sleep) as board:
        began = bridge.clock()
        found = list(perform(plan("relay-quick", "class-mini-12v-form-c"), board, nominal(0)))
        assert bridge.clock() - began <= GOAL_S
        assert found
        assert board.identity.round_trip_ms < 3
