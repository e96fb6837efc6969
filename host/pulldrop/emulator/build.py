"""What the emulated board is made of, built at need: the shim in the user's cache, the firmware in its checkout."""

import hashlib
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from platformdirs import user_cache_dir

from pulldrop.emulator.errors import EmulatorError
from pulldrop.whole import whole

SOURCES = ("shim.c", "line.c", "bus.c", "converter.c")
FLAGS = ("-std=gnu11", "-O2", "-Wall", "-Wextra", "-shared", "-fPIC")
LIBRARIES = ("-lsimavr", "-lelf", "-lm")
INSTALL = "install what it needs, on Debian: sudo apt-get install gcc libsimavr-dev libelf-dev"
INSTALL_AVR = "install what it needs, on Debian: sudo apt-get install make gcc-avr avr-libc"
ELF = Path("build") / "pulldrop.elf"


def shim() -> Path:
    """The compiled shim; built when it is missing or its source has changed."""
    here = Path(__file__).parent
    text = b"".join((here / name).read_bytes() for name in ("shim.h", *SOURCES))
    cache = Path(user_cache_dir("pulldrop"))
    built = cache / f"emulator-{hashlib.sha256(text).hexdigest()[:16]}.so"
    if not built.exists():
        cache.mkdir(parents=True, exist_ok=True)
        with whole(built) as fresh:  # two processes may build at once
            _compile([*FLAGS, "-o", str(fresh), *(str(here / name) for name in SOURCES), *LIBRARIES])
    return built


def _compile(arguments: list[str]) -> None:
    try:
        done = subprocess.run(["gcc", *arguments], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        raise EmulatorError(f"the emulated board needs a C compiler, and there is no gcc; {INSTALL}") from None
    if done.returncode:
        first = next((line for line in done.stderr.splitlines() if "error" in line or "cannot find" in line), "")
        raise EmulatorError(f"the emulated board could not be compiled ({first.strip()}); {INSTALL}")


def firmware() -> Path:
    """The compiled firmware: of the checkout this package lies in, of the working directory, or PULLDROP_FIRMWARE.

    In a checkout it is built when it is missing or older than its source.
    """
    named = os.environ.get("PULLDROP_FIRMWARE")
    if named:
        return _existing(Path(named))
    for folder in (Path(__file__).parents[3] / "firmware", Path.cwd() / "firmware"):
        if (folder / "Makefile").exists() and (folder / "wire.yaml").exists():
            return _made(folder)
    raise EmulatorError(
        "the emulated board runs the compiled firmware, and there is none here; "
        "start pulldrop in a checkout of its source, or set PULLDROP_FIRMWARE to a pulldrop.elf"
    )


@contextmanager
def _alone() -> Iterator[None]:
    """One build of the firmware at a time, or one process would load what another is writing."""
    import fcntl  # here, because Windows has none and yet imports this file

    cache = Path(user_cache_dir("pulldrop"))
    cache.mkdir(parents=True, exist_ok=True)
    with (cache / "firmware.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _existing(elf: Path) -> Path:
    if not elf.is_file():
        raise EmulatorError(f"PULLDROP_FIRMWARE names {elf}, and there is no such file; set it to a pulldrop.elf")
    return elf


def _made(folder: Path) -> Path:
    """Build the firmware. Without tools an ELF that is already there will do."""
    elf = folder / ELF
    if shutil.which("make") is None or shutil.which("avr-gcc") is None:
        if elf.is_file():
            return elf
        raise EmulatorError(f"the firmware in {folder} is not built, and make or avr-gcc is missing; {INSTALL_AVR}")
    with _alone():
        done = subprocess.run(["make", "-C", str(folder)], capture_output=True, text=True, check=False)
    if done.returncode or not elf.is_file():
        last = (done.stderr.strip().splitlines() or ["no message"])[-1]
        raise EmulatorError(f"the firmware in {folder} does not build ({last}); see 'make -C {folder}'")
    return elf
