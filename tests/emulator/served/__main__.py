"""The emulated board in a process of its own: `python -m served`, driven by JSON lines (see process.py).

Standard input: first an `Order`, then one `ControlLine` a line; its end ends the process. Standard output: one `Report`
a line, first where the serial port is. One thread alone touches the simulator, and paces it to real time: never
faster, so that the time-outs of the client keep their meaning; when the machine is too slow, it lags.
"""

import os
import select
import sys
import time
from pathlib import Path

from pydantic import ValidationError

from pulldrop.emulator.errors import EmulatorError
from pulldrop.emulator.evening import EveningMachine
from pulldrop.emulator.machine import Machine
from pulldrop.emulator.memory import eeprom
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.bench.evening import EveningBench
from served.line import SerialLine
from served.process import ControlLine, Order, Report

SLICE_S = 0.001
LAG_S = 0.02  # a lag of up to this is caught up; a longer one is let go


class Pace:
    """Real time against simulated time."""

    def __init__(self) -> None:
        self._start = time.monotonic()

    def ahead(self, simulated_s: float) -> float:
        """Seconds to wait until real time has come to `simulated_s`; 0 when it lags."""
        ahead = self._start + simulated_s - time.monotonic()
        if ahead < -LAG_S:
            self._start -= ahead + LAG_S
        return max(ahead, 0.0)


class Server:
    """One machine, its line, and the controls on standard input."""

    def __init__(self, machine: Machine, line: SerialLine) -> None:
        self._machine, self._line, self._pace = machine, line, Pace()
        self._typed = b""
        self._ended = False
        os.set_blocking(sys.stdin.fileno(), False)

    def serve(self) -> None:
        """Until standard input ends."""
        while not self._ended:
            self._machine.run(SLICE_S)
            self._line.write(self._machine.sent())
            self._wait()

    def _wait(self) -> None:
        """Sleep off what simulated time is ahead, serving whoever speaks meanwhile."""
        while True:
            ahead = self._pace.ahead(self._machine.time_s)
            files = [sys.stdin.fileno(), *([self._line.fd] if self._line.plugged else [])]
            ready, _, _ = select.select(files, [], [], ahead)
            if sys.stdin.fileno() in ready:
                self._hear()
            if self._line.plugged and self._line.fd in ready:
                self._machine.receive(self._line.read())
            if ahead == 0.0 or self._ended:
                return

    def _hear(self) -> None:
        read = os.read(sys.stdin.fileno(), 4096)
        self._ended = not read
        *lines, self._typed = (self._typed + read).split(b"\n")
        for line in lines:
            self._obey(ControlLine.model_validate_json(line))
            report(Report(done=True))

    def _obey(self, control: ControlLine) -> None:
        match control.do:
            case "stop":
                self._machine.open_stop(control.on)
            case "garble":
                self._line.garble(control.way, control.count)
            case "hold_bus":
                self._machine.chip.hold_bus(control.on)
            case "unplug":
                self._line.unplug()
            case "reset":
                self._machine.reset()
            case "leads":
                self._machine.exchange_leads(control.on)
            case "insert":
                assert control.specimen is not None
                self._machine.insert(control.specimen)
            case "knob" | "turn" | "hurry":
                assert isinstance(self._machine, EveningMachine)
                self._by_hand(self._machine.plant, control)

    @staticmethod
    def _by_hand(plant: EveningBench, control: ControlLine) -> None:
        if control.do == "knob":
            plant.set_knob(control.volts)
        elif control.do == "turn":
            plant.turn_knob(control.volts or 0.0)
        else:
            plant.hurry_knob()


def _machine(order: Order) -> Machine:
    elf, memory = Path(order.elf), eeprom(order.serial)
    if order.evening:
        return EveningMachine(elf, EveningBench(order.specimen, order.seed), memory)
    return Machine(elf, Bench(order.specimen, order.seed), memory, order.bare)


def report(said: Report) -> None:
    """One line to the parent."""
    print(said.model_dump_json(), flush=True)


def main() -> int:
    """Serve one order; 0 when the parent has hung up."""
    try:
        order = Order.model_validate_json(sys.stdin.buffer.readline())
        machine = _machine(order)
        line = SerialLine()
        report(Report(port=line.path))
        Server(machine, line).serve()
    except (EmulatorError, ValidationError) as error:
        report(Report(error=str(error)))
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
