"""A virtual and an emulated board on a bench whose wires may break."""

from dataclasses import replace

from broken_bench.bench import BrokenBench
from broken_bench.effect import Effect
from pulldrop.board.contract import Status
from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Scan
from pulldrop.board.requests import REFUSALS
from pulldrop.board.values import Part
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.emulator.i2c_parts import ADS1115, ADS1115_SCAN, INA226, MCP4725, MCP23017
from pulldrop.emulator.machine import STOP, Machine
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.model.raw import CoilCounts, ScanCounts
from pulldrop.plant.bench.pins import Pins
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message

BUS = {ADS1115: "ads", INA226: "ina", MCP4725: "dac", MCP23017: "ports", ADS1115_SCAN: "scan"}
"""The parts on the bus in the order of their places in the shim, by the names in `Effect.deaf`."""


BUS_PARTS: dict[Message, tuple[str, ...]] = {
    wire.HOLD_COIL: ("dac",),
    wire.STEP_COIL: ("dac",),
    wire.STAIRCASE: ("dac",),
    wire.HOT_STEP: ("dac", "ads"),
    wire.LOAD_PULSE: ("ads",),
    wire.WATCH_LOAD: ("ads", "dac"),
}
"""The parts on the bus that a request needs; a load needs the DAC, too, because its lamp lets the coil supply on."""


SILENT = f"The virtual board refused it: {REFUSALS[wire.Result.BUS]}"


class BrokenBoard(VirtualBoard):
    """A virtual board there, which refuses what needs a part that does not answer."""

    BENCH = BrokenBench
    _scanned = False  # by a scan that did not get through to its ports, which may be on

    def _ranged(self, message: Message, *parts: Part, **more: int) -> None:
        super()._ranged(message, *parts, **more)
        if message is wire.SCAN and not self._bare:
            self._scanned = True
            self._answers("scan", "ports")
            self._scanned = False

    def _admit(self, message: Message, *parts: Part, **more: int) -> None:
        super()._admit(message, *parts, **more)
        loaded = any(getattr(part, "branches", 0) for part in parts)
        also = (*(("dac",) if loaded else ()), *(("ports",) if self._scanned else ()))
        self._answers(*BUS_PARTS.get(message, ()), *also)

    def sense_coil(self) -> CoilCounts:
        self._full_only()
        self._answers("ina")
        return super().sense_coil()

    def _answers(self, *parts: str) -> None:
        """Whether these parts of the bus answer; a board whose bus refuses has everything off."""
        if self.plant.wires.deaf & {"bus", *parts}:
            self._guard.off()
            raise Refused("bus", SILENT)

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


class WithoutMeter(EveningBoard):
    """A virtual evening board whose INA226 module is not there: it refuses whatever moves energy, as its firmware
    does (`build_admits`)."""

    def status(self) -> Status:
        return replace(super().status(), bus_silent=True)

    def sense_coil(self) -> CoilCounts:
        raise self._refused()

    def scan(self, scan: Scan) -> ScanCounts:
        self._ranged(wire.SCAN, scan)
        raise self._refused()

    def _admit(self, message: Message, *parts: Part, **more: int) -> None:
        super()._admit(message, *parts, **more)
        raise self._refused()

    def _refused(self) -> Refused:
        self._guard.off()
        return Refused("bus", SILENT)
