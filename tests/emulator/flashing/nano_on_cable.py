"""A Nano on a cable, with a real boot loader on it: nano.c in a process of its own, driven by its lines.

The boot loaders are those of Debian's package arduino-core-avr: the old one as compiled there, the newer one compiled
here from the source there, because Debian's compiler makes it longer than the 512 bytes for which it is linked there.
It stands in a boot section of 1 KiB instead.
"""

import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Self

SOURCE = Path(__file__).with_name("nano.c")
LOADERS = Path("/usr/share/arduino/hardware/arduino/avr/bootloaders")
NEWER_FLAGS = (
    *("-Os", "-fno-inline-small-functions", "-fno-split-wide-types", "-mshort-calls", "-w"),
    *("-DF_CPU=16000000L", "-DLED_START_FLASHES=3", "-DBAUD_RATE=115200"),
    *("-Wl,--relax", "-Wl,--gc-sections", "-nostartfiles", "-nostdlib"),
)
"""As in the Makefile beside the source."""


def run(*command: object) -> None:
    subprocess.run([str(word) for word in command], check=True, capture_output=True)


@dataclass(frozen=True, slots=True)
class Kind:
    """A chip, and the boot loader on it: where it begins in the flash, and the file with its bytes."""

    chip: str
    start: int
    loader: str


class Workshop:
    """Where the harness and the boot loaders are compiled."""

    def __init__(self, folder: Path) -> None:
        self.program = folder / "nano"
        run("gcc", "-std=gnu11", "-O2", "-Wall", "-Wextra", "-Werror", "-o", self.program, SOURCE, *LIBRARIES)
        self.newer, self.alike = self._newer(folder, "atmega328p", 0x7C00), self._newer(folder, "atmega328", 0x7C00)
        self.smaller = self._newer(folder, "atmega168", 0x3C00)
        old = folder / "old.bin"
        run("avr-objcopy", "-I", "ihex", "-O", "binary", LOADERS / "atmega" / "ATmegaBOOT_168_atmega328.hex", old)
        self.old = Kind("atmega328p", 0x7800, str(old))
        self.none = Kind("atmega328p", 0, "-")

    @staticmethod
    def _newer(folder: Path, chip: str, start: int) -> Kind:
        elf, out = folder / f"{chip}.elf", folder / f"{chip}.bin"
        placed = f"-Wl,--section-start=.text={start:#x}"
        run("avr-gcc", f"-mmcu={chip}", *NEWER_FLAGS, placed, "-o", elf, LOADERS / "optiboot" / "optiboot.c")
        run("avr-objcopy", "-O", "binary", "-j", ".text", elf, out)
        return Kind(chip, start, str(out))


LIBRARIES = ("-lsimavr", "-lelf", "-lm")


class Nano:
    """One on its cable; `port` is what a client opens."""

    def __init__(self, workshop: Workshop, kind: Kind, folder: Path, flash: bytes = b"", eeprom: bytes = b"") -> None:
        self._dumped = folder / "dumped"
        files = folder / "flash", folder / "eeprom"
        for file, content in zip(files, (flash, eeprom), strict=True):
            file.write_bytes(content)
        words: Sequence[object] = (workshop.program, kind.chip, kind.start, kind.loader, *files)
        self._process = subprocess.Popen(
            [str(word) for word in words],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        assert self._process.stdin and self._process.stdout
        self._in, self._out = self._process.stdin, self._process.stdout
        self.port = self._out.readline().strip()

    def tell(self, words: str) -> str:
        """What it answers."""
        self._in.write(f"{words}\n")
        self._in.flush()
        return self._out.readline().strip()

    def plug(self) -> None:
        """The cable goes in again."""
        self.port = self.tell("plug")

    def memories(self) -> tuple[bytes, bytes]:
        """Flash and EEPROM."""
        assert self.tell(f"dump {self._dumped}") == "done"
        both = self._dumped.read_bytes()
        return both[:0x8000], both[0x8000:]

    def driven(self) -> int:
        """How many pins are outputs."""
        return int(self.tell("driven"))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._in.close()
        self._process.wait(timeout=10)
        self._out.close()
