"""The firmware that the package carries is that of this source, and nothing in it reaches boot loader or EEPROM."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from firmware_native import FIRMWARE

from pulldrop.board.loader import image


def compiler(text: str) -> str:
    """Which one made a packaged firmware, by its first line."""
    (found,) = re.findall(r"^; made by 'make -C firmware package' with avr-gcc (\S+)$", text, re.MULTILINE)
    return str(found)


def packaged_again(folder: Path) -> str:
    """What `make package` makes of this source in another folder."""
    copy, out = folder / "elsewhere" / "firmware", folder / "firmware.hex"
    shutil.copytree(FIRMWARE, copy, ignore=shutil.ignore_patterns("build"))
    subprocess.run(["make", "-s", "-C", str(copy), "package", f"PACKAGED={out}"], check=True, capture_output=True)
    return out.read_text(encoding="ascii")


def test_the_packaged_firmware_is_this_source_compiled_byte_for_byte(tmp_path: Path) -> None:
    carried, made = image.PACKAGED.read_text(encoding="ascii"), packaged_again(tmp_path)
    if compiler(carried) != compiler(made):
        pytest.skip(f"compiled by avr-gcc {compiler(carried)}; here is {compiler(made)}, which compiles otherwise")
    assert carried == made, "stale: run 'make -C firmware package'"


def test_its_version_is_the_one_that_its_greeting_says() -> None:
    (found,) = re.findall(r"version\[3\] = \{([0-9, ]+)\};", (FIRMWARE / "core" / "board.c").read_text())
    assert found.replace(", ", ".") == image.VERSION


def test_it_fits_below_every_boot_loader_and_its_own_limit() -> None:
    (limit,) = re.findall(r"^FLASH_LIMIT = (\d+)$", (FIRMWARE / "Makefile").read_text(), re.MULTILINE)
    assert 10_000 < len(image.packaged()) <= int(limit) < image.ROOM
