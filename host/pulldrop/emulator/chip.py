"""The emulated microcontroller as a Python object: the calls of the shim, with types, and nothing else.

Time is counted in cycles of the 16 MHz clock. A run ends when the outside must act; `Happening` says why.
"""

import ctypes
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum, IntFlag
from functools import cache
from pathlib import Path

from pulldrop.emulator.build import shim
from pulldrop.emulator.errors import EmulatorError

CLOCK_HZ = 16_000_000
EEPROM_BYTES = 1024
LINE_BYTES = 8192


class ChipPort(IntEnum):
    """The three ports, in the order of their bits in `outputs`."""

    B = 0
    C = 1
    D = 2


class Happening(IntFlag):
    """Why a run ended."""

    REACHED = 1  # the cycle asked for
    OUTPUTS = 2  # a watched output pin changed
    BUS_WORD = 4  # a word was written to an I2C part
    CONVERSION = 8  # the converter started on a channel whose volts are asked for
    RESTARTED = 16  # the watchdog or the reset pin
    SAID = 64  # the chip has sent something, and no byte follows
    HALTED = 32  # the program crashed, or sleeps with interrupts off


@dataclass(frozen=True, slots=True)
class Level:
    """An input edge to come: at `cycle` the pin goes to `high`."""

    cycle: int
    port: ChipPort
    bit: int
    high: bool


@dataclass(frozen=True, slots=True)
class ChipWord:
    """A word that the program wrote to the I2C part at `address`."""

    cycle: int
    address: int
    register: int
    value: int


class _Edge(ctypes.Structure):
    _fields_ = (
        ("cycle", ctypes.c_uint64),
        ("port", ctypes.c_uint8),
        ("bit", ctypes.c_uint8),
        ("level", ctypes.c_uint8),
    )


class _Word(ctypes.Structure):
    _fields_ = (
        ("cycle", ctypes.c_uint64),
        ("address", ctypes.c_uint8),
        ("reg", ctypes.c_uint8),
        ("value", ctypes.c_uint16),
    )


_CHIP, _U8, _U16, _U32, _U64 = ctypes.c_void_p, ctypes.c_uint8, ctypes.c_uint16, ctypes.c_uint32, ctypes.c_uint64
_BYTES, _DOUBLES = ctypes.c_char_p, ctypes.POINTER(ctypes.c_double)
_CALLS: dict[str, tuple[object, list[object]]] = {
    "chip_create": (_CHIP, [_BYTES, _BYTES, _U32, _U32]),
    "chip_destroy": (None, [_CHIP]),
    "chip_run": (_U32, [_CHIP, _U64]),
    "chip_cycle": (_U64, [_CHIP]),
    "chip_reset": (None, [_CHIP]),
    "chip_outputs": (_U32, [_CHIP]),
    "chip_input": (None, [_CHIP, _U8, _U8, _U8]),
    "chip_level": (_U8, [_CHIP, _U8, _U8]),
    "chip_edges": (ctypes.c_int, [_CHIP, ctypes.POINTER(_Edge), _U32]),
    "chip_ask": (None, [_CHIP, _U8]),
    "chip_asked": (_U32, [_CHIP]),
    "chip_volts": (None, [_CHIP, _U8, ctypes.c_double]),
    "chip_ahead": (None, [_CHIP, _U8, ctypes.POINTER(ctypes.c_double), _U32]),
    "chip_wave": (None, [_CHIP, _U8, _U64, _U32, _DOUBLES, _U32]),
    "chip_noise": (None, [_CHIP, ctypes.c_double, _U64]),
    "chip_receive": (_U32, [_CHIP, _BYTES, _U32]),
    "chip_sent": (_U32, [_CHIP, _BYTES, _U32]),
    "chip_listen": (None, [_CHIP, _U8]),
    "chip_lost": (_U32, [_CHIP]),
    "chip_break_byte": (None, [_CHIP, _U32]),
    "chip_jam": (None, [_CHIP, _U8]),
    "chip_memory": (_U8, [_CHIP, _U16]),
    "chip_eeprom": (None, [_CHIP, _BYTES, _U32]),
    "chip_part": (None, [_CHIP, _U8, _U8, _U8, _U8]),
    "chip_register": (None, [_CHIP, _U8, _U8, _U16, _U16]),
    "chip_answer": (None, [_CHIP, _U8, _BYTES, _U8]),
    "chip_word": (ctypes.c_int, [_CHIP, ctypes.POINTER(_Word)]),
    "chip_hold_bus": (None, [_CHIP, _U8]),
}


@cache
def _library() -> ctypes.CDLL:
    try:
        library = ctypes.CDLL(str(shim()))
    except OSError as error:
        raise EmulatorError(
            f"the emulated board cannot load libsimavr ({error}); "
            "install it, on Debian: sudo apt-get install libsimavr-dev libelf-dev"
        ) from None
    for name, (result, arguments) in _CALLS.items():
        call = getattr(library, name)
        call.restype, call.argtypes = result, arguments
    return library


class Chip:
    """One ATmega328P with `elf` in its flash, just powered on. Not for use by two threads at once."""

    def __init__(self, elf: Path, eeprom: bytes = b"", watched: int = 0) -> None:
        self._lib = _library()
        self._chip = self._lib.chip_create(bytes(elf), eeprom, len(eeprom), watched)
        if not self._chip:
            raise EmulatorError(f"{elf} is not a firmware that the emulator can load; build it with 'make -C firmware'")
        self._room = ctypes.create_string_buffer(LINE_BYTES)

    def close(self) -> None:
        """Give the memory back; no other call may follow."""
        if self._chip:
            self._lib.chip_destroy(self._chip)
            self._chip = None

    def run(self, cycle: int) -> int:
        """Run until `cycle` or until something happens; the bits of `Happening`, as a number, for that is faster."""
        return int(self._lib.chip_run(self._chip, cycle))

    @property
    def cycle(self) -> int:
        """Cycles since power-on."""
        return int(self._lib.chip_cycle(self._chip))

    def reset(self) -> None:
        """Press the reset button."""
        self._lib.chip_reset(self._chip)

    @property
    def outputs(self) -> int:
        """Watched pins that are driven high: port B in bits 0..7, C in 8..15, D in 16..23."""
        return int(self._lib.chip_outputs(self._chip))

    def set_input(self, port: ChipPort, bit: int, high: bool) -> None:
        """Put a level on an input pin, now."""
        self._lib.chip_input(self._chip, port, bit, high)

    def level(self, port: ChipPort, bit: int) -> bool:
        """The level that is on an input pin."""
        return bool(self._lib.chip_level(self._chip, port, bit))

    def schedule(self, levels: Sequence[Level]) -> None:
        """Replace all edges to come by these, in order of time."""
        edges = (_Edge * len(levels))(*(_Edge(e.cycle, e.port, e.bit, e.high) for e in levels))
        if not self._lib.chip_edges(self._chip, edges, len(levels)):
            raise EmulatorError(f"{len(levels)} contact edges in one segment are more than the emulator holds")

    def ask(self, channel: int) -> None:
        """From now on end the run whenever a conversion of `channel` starts."""
        self._lib.chip_ask(self._chip, channel)

    @property
    def asked(self) -> int:
        """The channel of the conversion that ended the last run."""
        return int(self._lib.chip_asked(self._chip))

    def set_volts(self, channel: int, volts: float) -> None:
        """The pin's volts for the conversion that has just started."""
        self._lib.chip_volts(self._chip, channel, volts)

    def set_ahead(self, channel: int, volts: Sequence[float]) -> None:
        """The same for conversions to come in the next run (at most 16), which they then do not end."""
        self._lib.chip_ahead(self._chip, channel, (ctypes.c_double * len(volts))(*volts), len(volts))

    def set_wave(self, channel: int, start: int, step: int, volts: Sequence[float]) -> None:
        """The pin's volts from cycle `start` on, every `step` cycles (at most 256), straight lines between."""
        self._lib.chip_wave(self._chip, channel, start, step, (ctypes.c_double * len(volts))(*volts), len(volts))

    def set_noise(self, volts: float, seed: int) -> None:
        """By how much each conversion of a wave errs, as a standard deviation; none before this is called."""
        self._lib.chip_noise(self._chip, volts, seed)

    def receive(self, data: bytes) -> int:
        """Put bytes on the line to the chip; they come at the line's own speed. Returns how many found room."""
        return int(self._lib.chip_receive(self._chip, data, len(data)))

    def sent(self) -> bytes:
        """Bytes that the chip has sent since the last call."""
        count = self._lib.chip_sent(self._chip, self._room, LINE_BYTES)
        return self._room.raw[:count] if count else b""

    def listen(self, listening: bool) -> None:
        """From now on, or no longer, end the run when the chip has said something."""
        self._lib.chip_listen(self._chip, listening)

    @property
    def lost(self) -> int:
        """How many received bytes were lost because the program did not read in time."""
        return int(self._lib.chip_lost(self._chip))

    def break_byte(self, after: int) -> None:
        """Give the byte that comes `after` others a wrong stop bit."""
        self._lib.chip_break_byte(self._chip, after)

    def jam(self, jammed: bool) -> None:
        """Hang the program where it is, interrupts alive; or mend it. Once at a time."""
        self._lib.chip_jam(self._chip, jammed)

    def memory(self, address: int) -> int:
        """A byte of the data space: registers, then RAM."""
        return int(self._lib.chip_memory(self._chip, address))

    def eeprom(self) -> bytes:
        """All of the EEPROM."""
        room = ctypes.create_string_buffer(EEPROM_BYTES)
        self._lib.chip_eeprom(self._chip, room, EEPROM_BYTES)
        return room.raw

    def set_part(self, index: int, address: int, present: bool = True, pairs: bool = False) -> None:
        """Put an I2C part on the bus; see `struct part` in shim.h."""
        self._lib.chip_part(self._chip, index, address, present, pairs)

    def set_register(self, index: int, register: int, value: int, cleared_by_reading: int = 0) -> None:
        """Give a part's register its value; bits of `cleared_by_reading` go off when the word has been read."""
        self._lib.chip_register(self._chip, index, register, value, cleared_by_reading)

    def set_answer(self, index: int, data: bytes) -> None:
        """What a part without registers answers to a read."""
        self._lib.chip_answer(self._chip, index, data, len(data))

    def words(self) -> Iterable[ChipWord]:
        """Words written to I2C parts since the last call, in order."""
        word = _Word()
        while self._lib.chip_word(self._chip, ctypes.byref(word)):
            yield ChipWord(word.cycle, word.address, word.reg, word.value)

    def hold_bus(self, held: bool) -> None:
        """A part that holds both I2C lines low: no transfer ends."""
        self._lib.chip_hold_bus(self._chip, held)
