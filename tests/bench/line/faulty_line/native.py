"""The firmware's core as a chip on this PC (firmware/native/chip), for the emulator's Machine in place of simavr's.

Rule: one at a time in a process; the processor's own time is not in it, so its interrupts never wait.
"""

import ctypes
import subprocess
from functools import cache
from pathlib import Path

from pulldrop.emulator import chip

FIRMWARE = Path(__file__).parents[4] / "firmware"


@cache
def library() -> ctypes.CDLL:
    """The core, built when it is missing or old."""
    subprocess.run(["make", "-s", "-C", str(FIRMWARE), "chip"], check=True)
    loaded = ctypes.CDLL(str(FIRMWARE / "build" / "chip" / "chip.so"))
    for name, (result, arguments) in chip._CALLS.items():
        if hasattr(loaded, name):
            call = getattr(loaded, name)
            call.restype, call.argtypes = result, arguments
    loaded.chip_spoil.argtypes = [ctypes.c_void_p, ctypes.c_uint32]
    return loaded


class NativeChip(chip.Chip):
    """The calls of `Chip` on the native core."""

    def __init__(self, elf: Path, eeprom: bytes = b"", watched: int = 0) -> None:
        self._lib = library()
        self._chip = self._lib.chip_create(bytes(elf), eeprom, len(eeprom), watched)
        self._room = ctypes.create_string_buffer(chip.LINE_BYTES)

    def spoil(self, count: int) -> None:
        """A brown-out in the `count`th byte that is written to the EEPROM from now on."""
        self._lib.chip_spoil(self._chip, count)
