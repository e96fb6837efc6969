"""The firmware's core on this PC: a script of what the bench does, and a record of what the board did.

The program is built with ASan and UBSan; a report of theirs, or a broken rule of the bench, raises NativeFault.
Time is simulated: nothing here waits.
"""

import functools
import struct
import subprocess
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path

from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer
from pulldrop.wire.frames import Frames, crc, frame
from pulldrop.wire.messages import Message, Reset

FIRMWARE = Path(__file__).parents[3] / "firmware"
COIL, DIODE, DRY_NO, DRY_NC = 1, 2, 1 << 8, 1 << 9
BRANCHES, THROW_NO, THROW_NC = 15 << 2, 1 << 6, 1 << 7
LAMP = 1 << 10
CODES = {"u8": "B", "u16": "H", "u32": "I", "i16": "h"}

BEGUN = bytes([0, wire.BEGIN.id | 0x80])
"""How the answer starts to what a script says before its first bytes."""
CHANCE = 0x1235
"""The upper half of the start's number in this program; the lower half counts starts in the EEPROM."""
BOOTS_AT = 32
COLD = b"\xff" * 52 + b"\x5a"
"""The EEPROM of a board that was never named, and whose resistors were cold when it was switched off."""
USUAL = {
    "dac": 1800, "on": 1, "diode": 0, "dry": 3, "on_ms": 5000, "limit": 1000, "window_ms": 20, "divider": 1,
    "low_side": 0,
    "source": 1, "sink": 2, "look": 0, "weak": 0, "first": 0, "step": 0, "count": 1, "dwell_ms": 5,
    "watch": 1, "wanted": 1, "throw": 1, "branches": 4, "settle_ms": 5, "samples": 2, "limit_ms": 100, "gain": 5,
    "channel": 2, "serial": 7, "word": 0x04030201, "bytes": 62, "throws": 0, "watch_ms": 50, "start": CHANCE << 16 | 1,
    "sure": 0xBA5E,
}  # fmt: skip
"""A value for every field of every request; a test names only those it is about."""


class Fitted(IntEnum):
    """Which parts are on the bus (firmware/native/parts.h)."""

    FULL, EVENING, BOTH, NO_INA = range(4)


class NativeFault(AssertionError):
    """The sanitizers or the bench found the core doing what it must not."""


@functools.cache
def program(folder: Path = FIRMWARE) -> Path:
    """The native program of a firmware folder, built when it is missing or old."""
    subprocess.run(["make", "-s", "-C", str(folder), "native"], check=True)
    return folder / "build" / "native"


def talk(lines: list[str], built: Path | None = None) -> list[str]:
    """Give the program these lines; returns what it said."""
    done = subprocess.run(
        [str(built or program())],
        input="".join(f"{line}\n" for line in lines),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    if done.returncode or not done.stdout.rstrip().endswith("ended"):
        raise NativeFault(f"{done.stdout[-300:]}\n{done.stderr[:3000]}")
    return done.stdout.splitlines()[:-1]


def content(message: Message, sequence: int, **values: int) -> bytes:
    """A request's content; unlike the host's codec it also packs values out of range."""
    merged = USUAL | values
    layout = "<BB" + "".join(CODES[field.type] for field in message.request)
    return struct.pack(layout, sequence, message.id, *(merged[field.name] for field in message.request))


@dataclass(frozen=True)
class Record:
    """What the board did; times in ms since power-on. `outputs`: all but the lamp, which is in `lamp`, from dark on;
    `worn`: when which byte of the EEPROM was written."""

    contents: tuple[tuple[float, bytes], ...]
    outputs: tuple[tuple[float, int], ...]
    lamp: tuple[tuple[float, bool], ...]
    dac: tuple[tuple[float, int], ...]
    kept: tuple[int, ...]
    eeprom: bytes
    scan: tuple[tuple[float, str, tuple[int, ...]], ...]  # "ports" a b, "pins" source sink weak, "bare" 0 or 1
    worn: tuple[tuple[float, int], ...]

    @property
    def answers(self) -> list[tuple[float, Answer]]:
        """Answers to messages of the schema, in order."""
        return [(ms, codec.answer(found)) for ms, found in self.contents if found[1] & 0x7F in wire.MESSAGES]

    def answer(self, sequence: int) -> Answer:
        """The one answer to this request."""
        (found,) = [answer for _, answer in self.answers if answer.sequence == sequence]
        return found

    def answered_ms(self, sequence: int) -> float:
        """When that answer went out."""
        return next(ms for ms, answer in self.answers if answer.sequence == sequence)

    def outputs_at(self, ms: float) -> int:
        """The outputs word in force at this time."""
        return next((word for at, word in reversed(self.outputs) if at <= ms), 0)

    def lit(self, ms: float) -> bool:
        """Whether the lamp is lit at this time, so that the coil supply follows its DAC."""
        return next(lit for at, lit in reversed(self.lamp) if at <= ms)

    def off_ms(self, bit: int) -> float:
        """When this output last went off."""
        last = max(i for i, (_, word) in enumerate(self.outputs) if word & bit)
        return self.outputs[last + 1][0]

    def on_ms(self, bit: int) -> float:
        """When this output first went on."""
        return next(at for at, word in self.outputs if word & bit)


class Script:
    """What happens at the bench and when, in ms; requests get sequence numbers from 1.

    A host begins before it says anything else; that is left out of the record. Not so with `begun` false.
    """

    def __init__(
        self, eeprom: bytes = COLD, kept: int = 0, dac_at: int = 0, cause: Reset = Reset.POWER_ON, begun: bool = True,
        fits: Fitted = Fitted.FULL,
    ) -> None:  # fmt: skip
        self._before = [
            f"fits {int(fits)}",
            f"eeprom {eeprom.hex()}",
            f"kept {kept}",
            f"dac_at {dac_at}",
            f"cause {int(cause)}",
        ]
        self._found = eeprom
        self._eeprom = bytearray(eeprom.ljust(1024, b"\xff"))
        self._events: list[tuple[float, str]] = []
        self._sequence = 0
        self._begins = begun
        self._alive = 0

    @property
    def start(self) -> int:
        """The number of the start that the board will make."""
        record = self._found[BOOTS_AT : BOOTS_AT + 4].ljust(4, b"\xff")
        counted = record[2:] == bytes(byte ^ 0xFF for byte in crc(record[:2]))
        return CHANCE << 16 | (int.from_bytes(record[:2], "little") + 1 if counted else 1)

    def send(self, ms: float, message: Message, **values: int) -> int:
        """A request; fields that are not named have their usual value. Returns its sequence number."""
        self._sequence += 1
        self.raw(ms, frame(content(message, self._sequence, **values)))
        return self._sequence

    def keep_alive(self, start_ms: float, end_ms: float, every_ms: float = 100) -> None:
        """`status` now and then, as a host does, with sequences from 20 to 255 that go round."""
        for i in range(int((end_ms - start_ms) / every_ms)):
            self.raw(start_ms + i * every_ms + 0.5, frame(content(wire.STATUS, 20 + self._alive % 236)))
            self._alive += 1

    def raw(self, ms: float, data: bytes) -> None:
        self._events.append((ms, f"rx {data.hex()}"))

    def stop(self, ms: float, opened: bool) -> None:
        self._events.append((ms, f"stop {int(opened)}"))

    def contacts(self, ms: float, closed: int) -> None:
        self._events.append((ms, f"pins {closed}"))

    def current(self, ms: float, counts: int) -> None:
        self._events.append((ms, f"current {counts}"))

    def low_end(self, ms: float, counts: int) -> None:
        """The coil's low end, in ADC counts, from then on."""
        self._events.append((ms, f"low_end {counts}"))

    def parts(self, ms: float, alive: bool) -> None:
        self._events.append((ms, f"parts {int(alive)}"))

    def disturb(self, ms: float, bits: int) -> None:
        """These bits of whatever the DAC is sent arrive turned over: 12 of code, two of power-down."""
        self._events.append((ms, f"disturb {bits}"))

    def flip(self, ms: float, bits: int) -> None:
        """These bits of the next result of the INA226, or of the setting that an ADS1115 gives back, are read wrong."""
        self._events.append((ms, f"flip {bits}"))

    def fits(self, ms: float, fitted: Fitted) -> None:
        """Other parts answer from then on."""
        self._events.append((ms, f"fits {int(fitted)}"))

    def run(self, until_ms: float, built: Path | None = None) -> Record:
        events = sorted(self._events, key=lambda event: event[0])
        first = next((i for i, (_, what) in enumerate(events) if what.startswith("rx")), None)
        if self._begins and first is not None:
            ms, what = events[first]
            begin = frame(content(wire.BEGIN, 0, start=self.start)).hex()
            events[first] = (ms, f"rx {begin}{what.removeprefix('rx ')}")
        lines = [f"at {round(ms * 1000)} {what}" for ms, what in events]
        return self._record(talk([*self._before, *lines, f"run {round(until_ms * 1000)}"], built))

    def _record(self, said: list[str]) -> Record:
        contents, dac, kept, scan = [], [], [], []
        outputs, lamp = [(0.0, 0)], [(0.0, False)]
        worn: list[tuple[float, int]] = []
        frames = Frames()
        for line in said:
            us, what, *rest = line.split()
            ms = int(us) / 1000
            if what == "tx":
                contents += [(ms, found) for found in frames.feed(bytes.fromhex(rest[0]))]
            elif what == "out":
                word, lit = int(rest[0]) & ~LAMP, bool(int(rest[0]) & LAMP)
                outputs += [(ms, word)] if word != outputs[-1][1] else []
                lamp += [(ms, lit)] if lit != lamp[-1][1] else []
            elif what == "dac":
                dac.append((ms, int(rest[0])))
            elif what == "dac_keep":
                kept.append(int(rest[0]))
            elif what in ("ports", "pins", "bare"):
                scan.append((ms, what, tuple(map(int, rest))))
            elif what == "eeprom":
                self._eeprom[int(rest[0])] = int(rest[1])
                worn.append((ms, int(rest[0])))
        if self._begins and contents and contents[0][1].startswith(BEGUN):
            del contents[0]
        return Record(
            tuple(contents),
            tuple(outputs[1:]),
            tuple(lamp),
            tuple(dac),
            tuple(kept),
            bytes(self._eeprom),
            tuple(scan),
            worn=tuple(worn),
        )
