"""A fake serial port that follows a script byte by byte; a byte too many or too few fails the test."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from pulldrop.board.request_types import Drive
from pulldrop.board.serial import SerialBoard
from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire.frames import frame
from pulldrop.wire.messages import Message, Result

READ_TIMEOUT_S = 0.01
HOST, BOARD, UNPLUG = "host sends", "board sends", "unplugged"
GREETING = (wire.SCHEMA_HASH, (0, 1, 0), 42, 0x52, 1, 7, 0, 4242, 0, 500, 200, 3, 1)
KIND_AT, BUILD_AT = 3, 6  # of those
SUPPLY_SUM = 8360  # 12 V
IDLE = {
    "trip": 0, "outputs": 0, "contacts": 2, "restless": 0, "stop": 0, "work": 0, "uptime_ms": 1000, "bad_frames": 0,
    "start": 4242, "faults": 0, "order": 200,
}  # fmt: skip
DRIVE = Drive(dac=1638, on=True, on_ms=500, limit=600)
ON = (1638, 1, 0, 3, 500, 600)
"""One way to drive the coil, and its fields on the wire."""


@dataclass
class Clock:
    """Time that passes only when somebody waits for it."""

    now: float = 100.0
    slept: list[float] = field(default_factory=list)

    def __call__(self) -> float:
        return self.now

    def sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        self.now += seconds


class ScriptedPort:
    """Built step by step with `host`, `board`, ..., then used as the port of a SerialBoard."""

    def __init__(self, greeted: bool = True) -> None:
        self.clock = Clock()
        self.closed = False
        self.writes: list[tuple[float, bytes]] = []
        self._steps: list[tuple[str, bytes]] = []
        self._sequence = {False: 0, True: 200 + wire.ORDERS_AHEAD // 2}  # of orders their own, behind the greeting's
        self._last: Message = wire.GREET
        self._uptime_ms = IDLE["uptime_ms"]
        if greeted:
            self.host(wire.GREET).greets().host(wire.SENSE_ANALOG, 2).board(SUPPLY_SUM)

    # The script -------------------------------------------------------------------------------------------------

    def host(self, message: Message, *values: int) -> "ScriptedPort":
        """The next thing the host must send."""
        sequence = self._sequence[message.order] = (self._sequence[message.order] + 1) % 256
        self._last = message
        self._steps.append((HOST, frame(codec.request(sequence, message, values))))
        return self

    def answer(
        self, values: Sequence[int | Sequence[int]], back: int = 0, message: Message | None = None,
        result: Result = Result.DONE,
    ) -> bytes:  # fmt: skip
        """The frame that answers the request sent `back` requests, or orders, before the last one."""
        message = message or self._last
        packed = codec.pack(message, message.answer, values) if result is Result.DONE else b""
        return frame(bytes([(self._sequence[message.order] - back) % 256, message.id | 0x80, result]) + packed)

    def board(self, *values: int | Sequence[int]) -> "ScriptedPort":
        """The board does what it was asked, and answers so."""
        return self.bytes(self.answer(values))

    def greets(self, *values: int | Sequence[int]) -> "ScriptedPort":
        """The board greets; the host begins with it, turns everything off, and asks for its state."""
        return (
            self.board(*(values or GREETING))
            .host(wire.BEGIN, IDLE["start"])
            .board()
            .host(wire.ALL_OFF)
            .board()
            .status()
        )

    def refuses(self, result: Result, back: int = 0, message: Message | None = None) -> "ScriptedPort":
        """The board answers with another result than done."""
        return self.bytes(self.answer((), back, message, result))

    def late(self, message: Message, *values: int | Sequence[int], back: int) -> "ScriptedPort":
        """The board answers an earlier request."""
        return self.bytes(self.answer(values, back, message))

    def status(self, **changes: int) -> "ScriptedPort":
        """The host asks for the state, the board tells it; its clock stands still where none is named."""
        told = IDLE | {"uptime_ms": self._uptime_ms, "order": self._sequence[True]} | changes
        self._uptime_ms = told["uptime_ms"]
        self.host(wire.STATUS)
        return self.board(*told.values())

    def closing(self) -> "ScriptedPort":
        """The host turns everything off, as it does when it lets go of a board."""
        return self.host(wire.ALL_OFF).board()

    def bytes(self, data: bytes) -> "ScriptedPort":
        """Raw bytes from the board, noise too."""
        self._steps.append((BOARD, data))
        return self

    def unplugged(self) -> "ScriptedPort":
        """From here on the port is gone."""
        self._steps.append((UNPLUG, b""))
        return self

    def finish(self) -> None:
        """Everything in the script must have happened."""
        assert not self._steps, f"still to come: {[(who, data.hex(' ')) for who, data in self._steps]}"
        assert self.closed

    # The port ---------------------------------------------------------------------------------------------------

    @property
    def in_waiting(self) -> int:
        self._check_plug()
        return len(self._steps[0][1]) if self._steps and self._steps[0][0] is BOARD else 0

    def read(self, size: int, /) -> bytes:
        self._check_plug()
        if not self.in_waiting:
            self.clock.now += READ_TIMEOUT_S
            return b""
        data = self._steps[0][1]
        self._steps[:1] = [(BOARD, data[size:])] if data[size:] else []
        return data[:size]

    def write(self, data: bytes, /) -> int:
        self._check_plug()
        self.writes.append((self.clock.now, data))
        at = [who for who, _ in self._steps].index(HOST) if HOST in dict(self._steps) else -1
        assert at >= 0, f"not in the script: {data.hex(' ')}"
        _, expected = self._steps.pop(at)  # what the board sent before may be read later
        assert data.hex(" ") == expected.hex(" ")
        return len(data)

    def close(self) -> None:
        self.closed = True

    def _check_plug(self) -> None:
        if self._steps and self._steps[0][0] is UNPLUG:
            self._steps = [(UNPLUG, b"")]
            raise OSError(5, "Input/output error")


def opened(port: ScriptedPort) -> SerialBoard:
    """The board at the other end of the script."""
    return SerialBoard(port, "COM7", port.clock, port.clock.sleep)


def talk(port: ScriptedPort, *calls: Callable[[SerialBoard], object]) -> list[object]:
    """Open the board, make the calls, close it, and demand that the script is used up."""
    with opened(port) as board:
        told = [call(board) for call in calls]
    port.finish()
    return told
