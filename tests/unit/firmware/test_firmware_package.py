"""The firmware that the package carries is that of this source, and nothing in it reaches boot loader or EEPROM."""

import re
import shutil
import subprocess
from pathlib import Path

from firmware_native import FIRMWARE

from pulldrop.board.loader import image


def made_of(text: str) -> tuple[str, str]:
    """The compiler that made a packaged firmware, and the digest of its source, by its first two lines."""
    (compiler,) = re.findall(r"^; made by 'make -C firmware package' with avr-gcc (\S+)$", text, re.MULTILINE)
    (source,) = re.findall(r"^; of source ([0-9a-f]{64})$", text, re.MULTILINE)
    return compiler, source


def packaged_again(folder: Path) -> str:
    """What `make package` makes of this source in another folder."""
    copy, out = folder / "elsewhere" / "firmware", folder / "firmware.hex"
    shutil.copytree(FIRMWARE, copy, ignore=shutil.ignore_patterns("build"))
    subprocess.run(["make", "-s", "-C", str(copy), "package", f"PACKAGED={out}"], check=True, capture_output=True)
    return out.read_text(encoding="ascii")


def test_the_packaged_firmware_is_this_source_compiled_byte_for_byte(tmp_path: Path) -> None:
    carried, made = image.PACKAGED.read_text(encoding="ascii"), packaged_again(tmp_path)
    (compiler, source), (here, now) = made_of(carried), made_of(made)
    assert source == now, "stale: run 'make -C firmware package'"
    assert carried == made or compiler != here, "its source is this one, and its bytes are not: run the same"


def test_another_source_has_another_digest(tmp_path: Path) -> None:
    made = packaged_again(tmp_path)
    (tmp_path / "elsewhere" / "firmware" / "core" / "board.h").open("a").write("// a remark\n")
    out = tmp_path / "other.hex"
    copy = tmp_path / "elsewhere" / "firmware"
    subprocess.run(["make", "-s", "-C", str(copy), "package", f"PACKAGED={out}"], check=True, capture_output=True)
    assert made_of(made)[1] != made_of(out.read_text())[1]


def test_its_version_is_the_one_that_its_greeting_says() -> None:
    (found,) = re.findall(r"version\[3\] = \{([0-9, ]+)\};", (FIRMWARE / "core" / "board.c").read_text())
    assert found.replace(", ", ".") == image.VERSION


def test_it_fits_below_every_boot_loader_and_its_own_limit() -> None:
    (limit,) = re.findall(r"^FLASH_LIMIT = (\d+)$", (FIRMWARE / "Makefile").read_text(), re.MULTILINE)
    assert 10_000 < len(image.packaged()) <= int(limit) < image.ROOM
