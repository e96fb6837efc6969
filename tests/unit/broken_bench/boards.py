"""A virtual and an emulated board on a bench whose wires may break."""

from broken_bench.bench import BrokenBench
from broken_bench.effect import Effect
from pulldrop.board.virtual import VirtualBoard
from pulldrop.emulator.i2c_parts import ADS1115, ADS1115_SCAN, INA226, MCP4725, MCP23017
from pulldrop.emulator.machine import STOP, Machine
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.plant.bench.pins import Pins

BUS = {ADS1115: "ads", INA226: "ina", MCP4725: "dac", MCP23017: "ports", ADS1115_SCAN: "scan"}
"""The parts on the bus in the order of their places in the shim, by the names in `Bench.deaf`."""


class BrokenBoard(VirtualBoard):
    """A virtual board there."""

    BENCH = BrokenBench

    def break_wires(self, broken: Effect) -> None:
        """Wires of the bench come off or touch; `WHOLE`: all are mended."""
        self.off()
        self.plant.break_wires(broken)
        if broken.stopped:
            self._guard.open_stop(self.plant.stop_pressed)


class BrokenMachine(Machine):
    """The chip and its bus there."""

    def break_wires(self, broken: Effect) -> None:
        """The same. What the program drives reaches what is left at once, and parts of the bus may answer no more."""
        self.plant.break_wires(broken)
        for index, (address, part) in enumerate(BUS.items()):
            self.chip.set_part(index, address, part not in broken.deaf, pairs=part == "dac")
        self.chip.hold_bus("bus" in broken.deaf)
        self.pins = Pins()
        if self.plant.stop_open:
            self.chip.set_input(*STOP, True)
        self._meet()


class BrokenPort(SteppedPort):
    """The port of an emulated board there."""

    BENCH, MACHINE = BrokenBench, BrokenMachine
