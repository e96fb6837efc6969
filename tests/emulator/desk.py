"""Both ends of the emulated board in one thread and in simulated time: frames in, frames out, pins watched."""

from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

from pulldrop.emulator.chip import CLOCK_HZ, Chip, Happening
from pulldrop.emulator.machine import Machine
from pulldrop.emulator.memory import eeprom
from pulldrop.plant.bench.bench import Bench
from pulldrop.wire import codec, frames
from pulldrop.wire.codec import Answer
from pulldrop.wire.messages import ALL_OFF, BEGIN, GREET, ORDERS_AHEAD, Message

STEP_S = 0.0002


class Desk:
    """The firmware on one bench, with the host's side of the wire."""

    def __init__(self, elf: Path, plant: Bench, memory: bytes | None = None, bare: bool = False) -> None:
        self.machine = Machine(elf, plant, eeprom() if memory is None else memory, bare)
        self.frames = frames.Frames()
        self.answers: list[Answer] = []
        self._sequence = self._ordered = 0
        self._begun = -1  # after so many restarts of the machine

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.machine.close()

    def run(self, seconds: float) -> None:
        """Let time pass; answers are kept."""
        self.machine.run(seconds)
        self.answers += [codec.answer(content) for content in self.frames.feed(self.machine.sent())]

    def begin(self) -> None:
        """What a host says first to a board that has started."""
        self._begun = self.machine.restarts
        self.ask(BEGIN, (self.ask(GREET).number("start"),))

    @property
    def newest(self) -> int:
        """The number of the newest order that was sent."""
        return self._ordered

    def send(self, message: Message, values: Sequence[int] = ()) -> int:
        """Send a request; its sequence number."""
        self._sequence = (self._sequence + 1) % 256
        if message.order and message is not ALL_OFF and self._begun != self.machine.restarts:
            self.begin()
            self._sequence = (self._sequence + 1) % 256
        if message.order:  # not far ahead of the last one, however many questions came between
            if not 1 <= (self._sequence - self._ordered) % 256 <= ORDERS_AHEAD:
                self._sequence = (self._ordered + 1) % 256
            self._ordered = self._sequence
        self.answers = [answer for answer in self.answers if answer.sequence != self._sequence]  # numbers come round
        self.machine.receive(frames.frame(codec.request(self._sequence, message, values)))
        return self._sequence

    def answer(self, sequence: int, within_s: float = 1.0) -> Answer:
        """The answer to a request sent before."""
        for _ in range(round(within_s / STEP_S)):
            for answer in self.answers:
                if answer.sequence == sequence:
                    return answer
            self.run(STEP_S)
        raise AssertionError(f"no answer within {within_s} s of simulated time")

    def ask(self, message: Message, values: Sequence[int] = (), within_s: float = 1.0) -> Answer:
        """Request and answer."""
        return self.answer(self.send(message, values), within_s)

    def seconds_until(self, met: Callable[[], bool], most_s: float, step_s: float = STEP_S) -> float:
        """Simulated time from now until `met`, to one step."""
        began = self.machine.time_s
        while not met():
            assert self.machine.time_s - began < most_s, f"not met within {most_s} s of simulated time"
            self.run(step_s)
        return self.machine.time_s - began


class Probe:
    """A chip that runs probe.c."""

    def __init__(self, chip: Chip) -> None:
        self.chip = chip

    def run(self, ms: float) -> list[tuple[Happening, int]]:
        """Let time pass; why and at which cycle each run ended."""
        until, ends = self.chip.cycle + round(ms * CLOCK_HZ / 1000), []
        while self.chip.cycle < until:
            happened = self.chip.run(until)
            ends.append((happened, self.chip.cycle))
        return ends

    def ask(self, command: bytes, ms: float = 3) -> bytes:
        """One command and what it answers within the time."""
        self.chip.receive(command)
        self.run(ms)
        return self.chip.sent()

    def ask_numbers(self, command: bytes) -> list[int]:
        """The answer as 16-bit numbers."""
        said = self.ask(command)
        return [int.from_bytes(said[i : i + 2], "little") for i in range(0, len(said), 2)]
