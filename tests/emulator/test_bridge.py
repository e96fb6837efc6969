"""Behind a USB bridge that holds answers back for 16 ms a quick test ends in time, and a watch loses nothing."""

from pathlib import Path

from bridge import Bridge

from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.leaded import LeadMachine
from pulldrop.emulator.machine import Machine
from pulldrop.emulator.memory import eeprom
from pulldrop.jobs.vehicle.boards import vehicle
from pulldrop.jobs.vehicle.watch import EVERY_S
from pulldrop.measure import perform
from pulldrop.measure.lead import LeadRig
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.bench.leaded import LeadBench
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


def test_a_watch_behind_a_slow_bridge_loses_no_reading_and_is_no_later_than_30_ms(elf: Path) -> None:
    machine = LeadMachine(elf, LeadBench(vehicle("heritage-bus-12"), 3), eeprom(), bare=True)
    bridge = Bridge(machine, LATENCY_S)
    bridge.sleep(0.01)
    with SerialBoard(bridge, "a bridge", bridge.clock, bridge.sleep) as board:
        watch, late = LeadRig(board).watch(), list[float]()
        began, lost, count = bridge.clock(), 0, 0
        while bridge.clock() - began < 1.5:
            board.wait(EVERY_S)
            read = watch.read()
            lost, count = lost + sum(one.lost for one in read), count + len(read)
            late.append(bridge.clock() - began - read[-1].at_s)
        assert lost == 0 and count > 580
        assert sorted(late)[len(late) // 2] < 0.03
