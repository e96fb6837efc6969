"""`make flash` writes the flash of the chip and nothing else: fuses, lock bits and EEPROM stay as they are."""

import shlex
import subprocess

from firmware_native import FIRMWARE


def avrdude(*variables: str) -> list[str]:
    """The words of the one programming command that `make flash` would run."""
    made = subprocess.run(
        ["make", "-n", "-C", str(FIRMWARE), "flash", *variables], capture_output=True, text=True, check=True
    )
    (line,) = [line for line in made.stdout.splitlines() if line.startswith("avrdude")]
    return shlex.split(line)[1:]


def options(words: list[str]) -> dict[str, str]:
    """Options by their letter; one given twice, and a word that belongs to none, fail here."""
    found: dict[str, str] = {}
    letter = ""
    for word in words:
        if word.startswith("-"):
            letter, value = word, ""
            assert letter not in found
        else:
            value = word
            assert not found[letter]
        found[letter] = value
    return found


def test_flashing_writes_the_flash_alone_and_asks_for_no_erase_of_the_chip() -> None:
    given = options(avrdude("PORT=/dev/ttyUSB7"))
    assert given.pop("-U") == "flash:w:build/pulldrop.hex:i", "one memory, and it is the flash"
    assert given.pop("-D") == "", "a chip erase would take number and calibration along"
    assert given == {"-p": "m328p", "-c": "arduino", "-P": "/dev/ttyUSB7", "-b": "115200"}


def test_port_and_boot_loader_speed_are_the_callers() -> None:
    given = options(avrdude("PORT=COM7", "BAUD=57600"))
    assert (given["-P"], given["-b"]) == ("COM7", "57600")


def test_the_file_that_is_flashed_reaches_no_boot_loader_and_no_eeprom() -> None:
    subprocess.run(["make", "-s", "-C", str(FIRMWARE)], check=True, capture_output=True)
    highest = 0
    for line in (FIRMWARE / "build" / "pulldrop.hex").read_text(encoding="ascii").split():
        count, address, kind = int(line[1:3], 16), int(line[3:7], 16), int(line[7:9], 16)
        assert kind in (0, 1, 3), "data, end, start; no extended address, under which EEPROM would stand"
        if kind == 0:
            highest = max(highest, address + count)
    assert 0 < highest <= 24_576, "a boot loader of 2 KiB begins at 30,720"
