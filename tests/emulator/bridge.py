"""A USB bridge between host and emulated board, in simulated time: what the board says waits for a packet or a timer.

A bridge hands on what it received when a packet is full, else when its latency timer ends: 62 bytes and 16 ms as its
makers' drivers set it (FTDI application note AN232B-04); the other direction waits for nothing.
"""

from desk import STEP_S

from pulldrop.emulator.machine import Machine

PACKET = 62


class Bridge:
    """The port of a SerialBoard; `latency_s` 0 hands everything on at once."""

    def __init__(self, machine: Machine, latency_s: float) -> None:
        self.machine, self.latency_s = machine, latency_s
        self.written = 0
        self._out, self._held, self._ready = b"", b"", b""
        self._handed_s = 0.0

    def clock(self) -> float:
        """Simulated seconds."""
        return self.machine.time_s

    def sleep(self, seconds: float) -> None:
        """Let them pass."""
        until = self.machine.time_s + seconds
        while self.machine.time_s < until:
            self._pass(STEP_S)

    @property
    def in_waiting(self) -> int:
        return len(self._ready)

    def read(self, size: int, /) -> bytes:
        until = self.machine.time_s + 0.01
        while not self._ready and self.machine.time_s < until:
            self._pass(STEP_S)
        data, self._ready = self._ready[:size], self._ready[size:]
        return data

    def write(self, data: bytes, /) -> int:
        self.written += 1
        self._out += data
        self._pass(STEP_S)
        return len(data)

    def close(self) -> None:
        self.machine.close()

    def _pass(self, seconds: float) -> None:
        self._out = self._out[self.machine.receive(self._out) :]
        self.machine.run(seconds)
        self._held += self.machine.sent()
        while len(self._held) >= PACKET:
            self._hand(PACKET)
        if self.machine.time_s - self._handed_s >= self.latency_s:
            self._hand(len(self._held))

    def _hand(self, count: int) -> None:
        self._ready += self._held[:count]
        self._held = self._held[count:]
        self._handed_s = self.machine.time_s
