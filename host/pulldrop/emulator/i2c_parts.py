"""The I2C parts of the bench, by their data sheets: what a register write starts, and what a read then finds.

The shim moves the bytes; here is what they mean. A part that converts says in `due` at which cycle it is finished;
`finish` is called at that very moment, with the bench there too. Sources: ADS1115 SBAS444D, INA226 SBOS547A,
MCP4725 DS22039D, MCP23017 DS20001952.
"""

from types import MappingProxyType
from typing import Protocol

from pulldrop.emulator.chip import CLOCK_HZ, Chip
from pulldrop.plant.bench.bench import Bench

ADS1115, INA226, MCP4725, ADS1115_SCAN, MCP23017, EVENING_ADS1115 = 0x48, 0x40, 0x60, 0x4A, 0x20, 0x4B


class I2cPart(Protocol):
    """One part on the bus. `due`: the cycle at which it finishes what it is at, None when it is idle."""

    due: int | None

    def written(self, register: int, value: int, cycle: int) -> None:
        """A word has come."""

    def finish(self, bench: Bench) -> None:
        """`due` has come; the bench is there too."""


class Ads1115:
    """Conversion (0) and config (1) registers, single-shot and continuous; thresholds are kept and do nothing."""

    RATES = (8, 16, 32, 64, 128, 250, 475, 860)
    WAKE_S = 25e-6  # SBAS444D, 9.4.2: time to power up before a single-shot conversion
    INPUTS = MappingProxyType(
        {1: "no", 2: "nc", 6: "shunt"}
    )  # AIN0-AIN3, AIN1-AIN3, AIN2-GND; nothing is wired to the others
    BUSY_BIT, SINGLE_BIT = 0x8000, 0x0100

    def __init__(self, chip: Chip, index: int, address: int = ADS1115) -> None:
        self.due: int | None = None
        self._chip, self._index, self._config = chip, index, 0x8583
        chip.set_part(index, address)
        for register, value in ((0, 0), (1, self._config), (2, 0x8000), (3, 0x7FFF)):
            chip.set_register(index, register, value)

    def written(self, register: int, value: int, cycle: int) -> None:
        """Config: starts a conversion when asked to; the thresholds are stored."""
        if register != 1:
            if register in (2, 3):
                self._chip.set_register(self._index, register, value)
            return
        self._config = value
        single = bool(value & self.SINGLE_BIT)
        starts = not single or bool(value & self.BUSY_BIT)
        self.due = cycle + self._cycles(self.WAKE_S if single else 0.0) if starts else None
        self._show_config()

    def finish(self, bench: Bench) -> None:
        """A conversion is over."""
        counts = self._counts(bench, self._config >> 12 & 7, min(self._config >> 9 & 7, 5))
        self._chip.set_register(self._index, 0, counts & 0xFFFF)
        assert self.due is not None
        self.due = None if self._config & self.SINGLE_BIT else self.due + self._cycles(0.0)
        self._show_config()

    def _counts(self, bench: Bench, code: int, gain: int) -> int:
        mux = self.INPUTS.get(code)
        return bench.ads_counts(mux, max(gain, 1)) if mux else 0

    def _show_config(self) -> None:
        idle = self.BUSY_BIT if self.due is None else 0  # the bit reads 1 while no conversion runs
        self._chip.set_register(self._index, 1, self._config & 0x7FFF | idle)

    def _cycles(self, before_s: float) -> int:
        return round((before_s + 1 / self.RATES[self._config >> 5 & 7]) * CLOCK_HZ)


class Mcp23017:
    """The scan's ports: `a` and `b` are what they put out; a pin that is an input reads as its resistor holds it."""

    DIRECTIONS, LATCHES = 0x00, 0x14
    HELD = (0x88, 0x00)  # circuit.yaml: R90, R91 hold drive_off and sink_off high, R92, R122, R123 the others low

    def __init__(self, chip: Chip, index: int) -> None:
        self.due: int | None = None
        self._chip, self._index = chip, index
        self._latches, self._inputs = (0, 0), (0xFF, 0xFF)
        chip.set_part(index, MCP23017)

    @property
    def ports(self) -> tuple[int, int]:
        """Levels of port A and port B."""
        a, b = (
            latch & ~way | held & way for latch, way, held in zip(self._latches, self._inputs, self.HELD, strict=True)
        )
        return a, b

    def written(self, register: int, value: int, cycle: int) -> None:
        """Both latches or both directions, port A first."""
        self._chip.set_register(self._index, register, value)
        if register == self.LATCHES:
            self._latches = (value >> 8, value & 0xFF)
        elif register == self.DIRECTIONS:
            self._inputs = (value >> 8, value & 0xFF)

    def finish(self, bench: Bench) -> None:
        """Nothing in it takes time."""


class ScanConverter(Ads1115):
    """The ADS1115 behind the scan's multiplexers."""

    def __init__(self, chip: Chip, index: int, ports: Mcp23017) -> None:
        super().__init__(chip, index, ADS1115_SCAN)
        self._ports = ports

    def _counts(self, bench: Bench, code: int, gain: int) -> int:
        return bench.scan_counts(*self._ports.ports, code, gain)


class Ina226:
    """Shunt (1) and bus (2) registers with averaging, and the conversion-ready flag in mask/enable (6)."""

    TIMES_US = (140, 204, 332, 588, 1100, 2116, 4156, 8244)
    AVERAGES = (1, 4, 16, 64, 128, 256, 512, 1024)
    RESET, DEFAULT, READY = 0x8000, 0x4127, 0x0008
    RESTING = ((1, 0), (2, 0), (3, 0), (4, 0), (5, 0), (7, 0), (0xFE, 0x5449), (0xFF, 0x2260))  # the last two: its ids

    def __init__(self, chip: Chip, index: int) -> None:
        self.due: int | None = None
        self._chip, self._index = chip, index
        chip.set_part(index, INA226)
        for register, value in self.RESTING:
            chip.set_register(index, register, value)
        self._configure(self.DEFAULT, chip.cycle)

    def written(self, register: int, value: int, cycle: int) -> None:
        """Config: starts again and clears the flag; the others are stored."""
        if register == 0:
            self._configure(self.DEFAULT if value & self.RESET else value, cycle)
        elif register in (5, 7):
            self._chip.set_register(self._index, register, value)
        elif register == 6:
            self._mask(value & 0xFC00)

    def finish(self, bench: Bench) -> None:
        """One round of averaged conversions is over."""
        bus, shunt = bench.ina_counts()
        if self._config & 1:
            self._chip.set_register(self._index, 1, shunt & 0xFFFF)
        if self._config & 2:
            self._chip.set_register(self._index, 2, bus & 0xFFFF)
        self._mask(self.READY)
        assert self.due is not None
        self.due = self.due + self._cycles() if self._config & 4 else None

    def _configure(self, config: int, cycle: int) -> None:
        self._config = config
        self._chip.set_register(self._index, 0, config)
        self._mask(0)
        self.due = cycle + self._cycles() if config & 3 else None

    def _mask(self, value: int) -> None:
        self._chip.set_register(self._index, 6, value, cleared_by_reading=self.READY)

    def _cycles(self) -> int:
        config = self._config
        shunt_us = self.TIMES_US[config >> 3 & 7] if config & 1 else 0
        bus_us = self.TIMES_US[config >> 6 & 7] if config & 2 else 0
        return (shunt_us + bus_us) * self.AVERAGES[config >> 9 & 7] * CLOCK_HZ // 1_000_000


class Mcp4725:
    """The coil voltage's DAC: `code` is what it puts out now. Its EEPROM is taken as written to `kept`, 0 at first."""

    WRITE, WRITE_AND_KEEP = 2, 3
    KEEPING_S = 0.025  # DS22039D, electrical characteristics: EEPROM write time, typical

    def __init__(self, chip: Chip, index: int, kept: int = 0) -> None:
        self.due: int | None = None
        self.code = self.kept = kept
        self._chip, self._index = chip, index
        chip.set_part(index, MCP4725, pairs=True)
        self._show()

    def written(self, register: int, value: int, cycle: int) -> None:
        """A fast write (register 0) or a command in the first byte; none is heard while the EEPROM is written."""
        if self.due is not None:
            return
        command = register >> 5
        if register == 0:
            self._put_out(value & 0xFFF, value >> 12 & 3)
        elif command in (self.WRITE, self.WRITE_AND_KEEP):
            self._put_out(value >> 4, register >> 1 & 3)
        if command == self.WRITE_AND_KEEP:
            self.kept = value >> 4
            self.due = cycle + round(self.KEEPING_S * CLOCK_HZ)
        self._show()

    def finish(self, bench: Bench) -> None:
        """The EEPROM is written."""
        self.due = None
        self._show()

    def _put_out(self, code: int, power_down: int) -> None:
        self.code = 0 if power_down else code

    def _show(self) -> None:
        ready = 0x80 if self.due is None else 0
        answer = (ready | 0x40, self.code >> 4, self.code << 4 & 0xF0, self.kept >> 8, self.kept & 0xFF)
        self._chip.set_answer(self._index, bytes(answer))
