"""The three I2C parts, asked over the bus by the probe: they do what their data sheets say."""

from collections.abc import Iterator

import pytest
from desk import Probe
from fake_bench import FakeBench

from pulldrop.emulator.chip import CLOCK_HZ
from pulldrop.emulator.i2c_parts import ADS1115, INA226, MCP4725, Ads1115, I2cPart, Ina226, Mcp4725


class Bus:
    """Parts on the probe's bus, with their work done when it is due."""

    def __init__(self, probe: Probe, fake: FakeBench) -> None:
        self.probe, self.fake = probe, fake
        self.parts: dict[int, I2cPart] = {
            ADS1115: Ads1115(probe.chip, 0),
            INA226: Ina226(probe.chip, 1),
            MCP4725: Mcp4725(probe.chip, 2),
        }

    def write(self, address: int, *data: int) -> None:
        """Write bytes to a part."""
        self.probe.ask(bytes([ord("w"), address, len(data), *data]), ms=0.5)
        for word in self.probe.chip.words():
            self.parts[word.address].written(word.register, word.value, word.cycle)

    def read(self, address: int, count: int) -> bytes:
        """Read bytes from a part."""
        return self.probe.ask(bytes([ord("r"), address, count]), ms=1)[3 : 3 + 2 * count : 2]

    def register(self, address: int, number: int) -> int:
        """Set the pointer and read a word."""
        self.write(address, number)
        return int.from_bytes(self.read(address, 2))

    def finish(self, address: int) -> float:
        """Bring the part's work to its end; seconds that it took from now."""
        part = self.parts[address]
        assert part.due is not None
        left = part.due - self.probe.chip.cycle
        self.probe.run(left * 1000 / CLOCK_HZ)
        part.finish(self.fake)
        return left / CLOCK_HZ


@pytest.fixture
def bus(probe: Probe, fake: FakeBench) -> Iterator[Bus]:
    yield Bus(probe, fake)


def test_ads1115_starts_as_its_data_sheet_says(bus: Bus) -> None:
    assert [bus.register(ADS1115, n) for n in range(4)] == [0x0000, 0x8583, 0x8000, 0x7FFF]


@pytest.mark.parametrize(("mux", "name"), [(1, "no"), (2, "nc"), (6, "shunt")])
def test_ads1115_converts_once_and_says_when_it_is_ready(bus: Bus, mux: int, name: str) -> None:
    bus.fake.ads = {"no": 1, "nc": -2, "shunt": 30_000}
    bus.write(ADS1115, 1, 0x80 | mux << 4 | 5 << 1 | 1, 0xE3)
    assert not bus.register(ADS1115, 1) & 0x8000, "converting"
    bus.finish(ADS1115)
    assert bus.register(ADS1115, 1) & 0x8000, "ready"
    assert bus.register(ADS1115, 0) == bus.fake.ads[name] & 0xFFFF
    assert bus.fake.asked == [(name, 5)]
    assert bus.parts[ADS1115].due is None


def test_ads1115_takes_a_conversion_at_860_per_second(bus: Bus) -> None:
    part = bus.parts[ADS1115]
    part.written(1, 0xE3E3 | 0x8000, 1000)
    assert part.due is not None
    assert (part.due - 1000) / CLOCK_HZ == pytest.approx(1 / 860 + 25e-6, rel=1e-4)


def test_ads1115_repeats_in_continuous_mode(bus: Bus) -> None:
    bus.write(ADS1115, 1, 0x1A, 0xE3)
    bus.finish(ADS1115)
    assert bus.finish(ADS1115) == pytest.approx(1 / 860, rel=1e-3)


def test_an_input_that_is_wired_to_nothing_reads_zero(bus: Bus) -> None:
    bus.write(ADS1115, 1, 0x80 | 7 << 4 | 5 << 1 | 1, 0xE3)
    bus.finish(ADS1115)
    assert bus.register(ADS1115, 0) == 0
    assert bus.fake.asked == []


def test_ina226_starts_as_its_data_sheet_says(bus: Bus) -> None:
    assert [bus.register(INA226, n) for n in (0, 1, 2, 5, 0xFE, 0xFF)] == [0x4127, 0, 0, 0, 0x5449, 0x2260]


def test_ina226_gives_signed_counts_and_its_flag_goes_off_when_read(bus: Bus) -> None:
    bus.fake.ina = (10_800, -5)
    bus.write(INA226, 0, 0x43, 0x23)
    assert not bus.register(INA226, 6) & 0x0008
    bus.finish(INA226)
    assert bus.register(INA226, 6) & 0x0008
    assert not bus.register(INA226, 6) & 0x0008
    assert (bus.register(INA226, 2), bus.register(INA226, 1)) == (10_800, 0x10000 - 5)
    assert bus.parts[INA226].due is None, "triggered: once"


def test_ina226_takes_its_averages_of_both_conversions(bus: Bus) -> None:
    part = bus.parts[INA226]
    part.written(0, 0x4523, 0)  # 16 averages of 1.1 ms each for shunt and bus
    assert part.due is not None
    assert part.due / CLOCK_HZ == pytest.approx(16 * 2.2e-3)


def test_a_new_config_of_the_ina226_starts_anew(bus: Bus) -> None:
    part = bus.parts[INA226]
    part.written(0, 0x4323, 0)
    first = part.due
    part.written(0, 0x4323, 100)
    assert first is not None
    assert part.due == first + 100


def test_mcp4725_follows_a_fast_write_and_reads_back(bus: Bus) -> None:
    bus.write(MCP4725, 0x07, 0x33)
    dac = bus.parts[MCP4725]
    assert isinstance(dac, Mcp4725)
    assert (dac.code, dac.kept) == (0x733, 0)
    assert bus.read(MCP4725, 5) == bytes([0xC0, 0x73, 0x30, 0x00, 0x00])


def test_mcp4725_keeps_what_is_written_to_its_eeprom_and_is_deaf_meanwhile(bus: Bus) -> None:
    bus.write(MCP4725, 0x60, 0x12, 0x30)
    dac = bus.parts[MCP4725]
    assert isinstance(dac, Mcp4725)
    assert not bus.read(MCP4725, 1)[0] & 0x80
    bus.write(MCP4725, 0x0F, 0xFF)
    assert dac.code == 0x123
    bus.finish(MCP4725)
    assert bus.read(MCP4725, 5) == bytes([0xC0, 0x12, 0x30, 0x01, 0x23])


def test_mcp4725_powered_down_puts_out_nothing(bus: Bus) -> None:
    bus.write(MCP4725, 0x1F, 0xFF)
    dac = bus.parts[MCP4725]
    assert isinstance(dac, Mcp4725)
    assert dac.code == 0
