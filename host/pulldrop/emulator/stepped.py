"""The serial port of an emulated board in its host's own process, in simulated time, which only the host's waits move.

Rule: nothing here looks at the computer's clock. A host that computes, starves or writes to a slow disk takes no time
on this bench, as on the virtual one; so a run goes the same way on any computer, as fast as that can compute.
"""

import errno
import signal
from collections.abc import Callable
from typing import Self

from pulldrop.ctrl_c import answered
from pulldrop.emulator import build
from pulldrop.emulator.machine import Machine
from pulldrop.emulator.memory import SERIAL, eeprom
from pulldrop.model.part.kinds import UNSAID
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.parts import SPECIMENS
from pulldrop.text.document import parse
from pulldrop.text.shape import fit_kind

STARTED_S = 0.01
"""From power-on until the firmware listens; what comes before is lost."""
READ_S = 0.01
"""How long a read waits for a byte, as at a real port."""


class SteppedPort:
    """What pyserial's Serial is to `SerialBoard`, with its clock and sleep; the board lives until `with` is left.

    `specimen_text` is YAML; `seed` None for a perfect bench; `bare` without any I2C part. Raises BadText for a bad
    specimen, and EmulatorError with a sentence when something to build or run the board is missing.
    """

    BENCH, MACHINE = Bench, Machine

    def __init__(self, specimen_text: str, seed: int | None, serial: int = SERIAL, bare: bool = False) -> None:
        specimen = fit_kind(parse(specimen_text, "specimen"), SPECIMENS, UNSAID).in_socket()
        self._start(self.BENCH(specimen.on_bare() if bare else specimen, seed), serial, bare)

    def _start(self, bench: Bench, serial: int, bare: bool) -> None:
        self.machine = self.MACHINE(build.firmware(), bench, eeprom(serial), bare)
        self._heard, self._closed = b"", False
        self.sleep(STARTED_S)

    @property
    def in_waiting(self) -> int:
        """Bytes that can be read at once."""
        return len(self._heard)

    def read(self, size: int, /) -> bytes:
        """Bytes of the board, or none after READ_S."""
        self._must_be_open()
        if not self._heard:
            self._pass(self.machine.listen, READ_S)
        read, self._heard = self._heard[:size], self._heard[size:]
        return read

    def write(self, data: bytes, /) -> int:
        """Bytes for the board, which come at the line's speed."""
        self._must_be_open()
        return self.machine.receive(data)

    def close(self) -> None:
        """Nothing is sent or heard until it is opened again."""
        self._closed = True

    def again(self, _name: str = "") -> Self:
        """Open it again."""
        self._closed, self._heard = False, b""
        return self

    def _must_be_open(self) -> None:
        if self._closed:
            raise OSError(errno.EBADF, "the port is closed")

    def clock(self) -> float:
        """Simulated seconds since power-on."""
        return self.machine.time_s

    def sleep(self, seconds: float) -> None:
        """Let them pass."""
        self._pass(self.machine.run, seconds)

    def _pass(self, run: Callable[[float], None], seconds: float) -> None:
        """Let time pass. A Ctrl-C comes when it has, for until then chip and plant are at two different times."""
        pressed: list[None] = []
        with answered(lambda: pressed.append(None)):
            run(seconds)
        self._heard += self.machine.sent()
        if pressed:
            signal.raise_signal(signal.SIGINT)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.machine.close()
