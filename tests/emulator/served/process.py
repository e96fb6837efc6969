"""An emulated board in a process of its own: started with `with`, found at `port` by any serial client.

The simulator runs in a process of its own (see __main__.py), so that it keeps real time whatever its user computes.
"""

import os
import subprocess
import sys
from pathlib import Path
from typing import Literal, Self

from pydantic import BaseModel, ConfigDict

import pulldrop
from pulldrop.emulator import build
from pulldrop.emulator.errors import EmulatorError
from pulldrop.emulator.memory import SERIAL
from pulldrop.plant.specimen import Specimen
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

PLACES = (str(Path(pulldrop.__file__).parents[1]), str(Path(__file__).parents[1]), os.environ.get("PYTHONPATH"))
ENVIRONMENT = os.environ | {"PYTHONPATH": os.pathsep.join(place for place in PLACES if place)}
"""In which `python -m served` finds this package and the host."""


class _Line(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Order(_Line):
    """What to emulate: the firmware, the part in the socket, the bench's chance (None: a perfect bench), the build."""

    elf: str
    specimen: Specimen
    seed: int | None
    serial: int
    bare: bool = False
    evening: bool = False


class ControlLine(_Line):
    """One thing to do to the board from outside. `way` and `count` belong to garble, `on` to stop, hold_bus and
    leads (exchanged or not), `specimen` to insert, `volts` to knob (None: S4 at the supply) and turn (slowly, to
    these)."""

    do: Literal["stop", "garble", "unplug", "reset", "hold_bus", "insert", "leads", "knob", "turn", "hurry"]
    on: bool = False
    way: Literal["in", "out"] = "in"
    count: int = 0
    specimen: Specimen | None = None
    volts: float | None = None


class Report(_Line):
    """What the process says: its port, that a control is done, or why it ends."""

    port: str = ""
    done: bool = False
    error: str = ""


class Emulator:
    """One emulated board with one part in its socket; `port` is the path of its serial port.

    `specimen_text` is YAML; `seed` None for a perfect bench; `bare` without any I2C part, `evening` an evening build.
    Raises BadText for a bad specimen, and EmulatorError with a sentence when something to build or run the board is
    missing.
    """

    port: str

    def __init__(
        self, specimen_text: str, seed: int | None, serial: int = SERIAL, bare: bool = False, evening: bool = False
    ) -> None:
        if sys.platform == "win32":
            raise EmulatorError(
                "the emulated board needs a pseudo-terminal, which Windows lacks; use the virtual board"
            )
        specimen = fit(parse(specimen_text, "specimen"), Specimen)
        build.shim()  # here, so that a missing compiler is reported before a process starts
        order = Order(
            elf=str(build.firmware()), specimen=specimen, seed=seed, serial=serial, bare=bare, evening=evening
        )
        self._process = subprocess.Popen(
            [sys.executable, "-m", "served"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=ENVIRONMENT,
            start_new_session=True,  # Ctrl-C is for the client, which then turns the board off through the line
        )
        self.port = self._tell(order).port

    def open_stop(self, opened: bool = True) -> None:
        """Press the emergency stop, or release it."""
        self._tell(ControlLine(do="stop", on=opened))

    def insert(self, specimen: Specimen) -> None:
        """Another part into the socket, or none (see `plant.instruments.empty`), whatever the board is doing."""
        self._tell(ControlLine(do="insert", specimen=specimen))

    def exchange_leads(self, exchanged: bool) -> None:
        """The leads to 85 and 86 in each other's place, or back in their own, whatever the board is doing."""
        self._tell(ControlLine(do="leads", on=exchanged))

    def knob(self, volts: float | None) -> None:
        """S4 to the knob, at these volts, or back to the supply (None)."""
        self._tell(ControlLine(do="knob", volts=volts))

    def turn(self, volts: float) -> None:
        """A hand begins to turn the knob slowly to these volts."""
        self._tell(ControlLine(do="turn", volts=volts))

    def hurry(self) -> None:
        """It turns the knob fast, to where it was going."""
        self._tell(ControlLine(do="hurry"))

    def garble(self, count: int, way: Literal["in", "out"] = "in") -> None:
        """Noise on the line: the next `count` bytes to the board (`in`) or from it (`out`) are damaged."""
        self._tell(ControlLine(do="garble", count=count, way=way))

    def hold_bus(self, held: bool = True) -> None:
        """A fault that holds the I2C bus low."""
        self._tell(ControlLine(do="hold_bus", on=held))

    def unplug(self) -> None:
        """The cable comes out."""
        self._tell(ControlLine(do="unplug"))

    def reset(self) -> None:
        """Somebody presses the reset button."""
        self._tell(ControlLine(do="reset"))

    def close(self) -> None:
        """End the process."""
        if self._process.stdin and not self._process.stdin.closed:
            self._process.stdin.close()
        try:
            self._process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        if self._process.stdout:
            self._process.stdout.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _tell(self, line: BaseModel) -> Report:
        assert self._process.stdin and self._process.stdout
        try:
            self._process.stdin.write(line.model_dump_json().encode() + b"\n")
            self._process.stdin.flush()
        except BrokenPipeError:
            pass  # its last words say why
        said = self._process.stdout.readline()
        report = Report.model_validate_json(said) if said else Report(error="the emulated board ended unexpectedly")
        if report.error:
            self.close()
            raise EmulatorError(report.error)
        return report
