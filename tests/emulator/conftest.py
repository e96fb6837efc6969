"""What the emulator's tests stand on: the compiled firmware, the compiled probe, and a desk with both ends in reach."""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk import Desk, Probe
from fake_bench import FakeBench

from pulldrop.emulator import build
from pulldrop.emulator.chip import Chip
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.specimen import Specimen

OUT_1_2_5 = 0x26  # PB1, PB2, PB5, the probe's outputs


@pytest.fixture(scope="session")
def elf() -> Path:
    """The firmware as it is shipped."""
    return build.firmware()


@pytest.fixture(scope="session")
def probe_elf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The probe program."""
    out = tmp_path_factory.mktemp("probe") / "probe.elf"
    flags = ["-mmcu=atmega328p", "-DF_CPU=16000000UL", "-Os", "-Wall", "-Wextra", "-Werror"]
    subprocess.run(["avr-gcc", *flags, "-o", str(out), str(Path(__file__).with_name("probe.c"))], check=True)
    return out


@pytest.fixture
def probe(probe_elf: Path) -> Iterator[Probe]:
    """A chip that runs the probe, started."""
    chip = Chip(probe_elf, watched=OUT_1_2_5)
    probe = Probe(chip)
    probe.run(5)
    yield probe
    chip.close()


@pytest.fixture
def desk(elf: Path) -> Iterator[Desk]:
    """The real firmware on a bench with a good relay, greeted."""
    with Desk(elf, Bench(Specimen(title="invented: a good relay"), None)) as desk:
        desk.run(0.01)
        yield desk


@pytest.fixture
def fake() -> FakeBench:
    """A bench whose relay does what the test says, to the microsecond."""
    return FakeBench()


@pytest.fixture
def fake_desk(elf: Path, fake: FakeBench) -> Iterator[Desk]:
    """The real firmware on that bench."""
    with Desk(elf, fake) as desk:
        desk.run(0.01)
        yield desk
