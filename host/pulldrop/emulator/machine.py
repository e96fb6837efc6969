"""Chip and plant together, in simulated time: neither clock nor file nor line is touched here.

The plant runs ahead of the program by one segment, with the pins as they are; its contact edges and the coil's current
in that segment are given to the chip beforehand, at exact cycles. When the program drives a pin inside the segment,
the plant is put back, brought to that very cycle, driven again, and runs ahead again. So cause comes before effect on
both sides, to a few cycles.
"""

from collections.abc import Iterable, Iterator, Sequence
from math import ceil
from pathlib import Path

from pulldrop.emulator.chip import CLOCK_HZ, Chip, ChipPort, Happening, Level
from pulldrop.emulator.errors import EmulatorError
from pulldrop.emulator.i2c_parts import (
    ADS1115,
    ADS1115_SCAN,
    INA226,
    MCP4725,
    MCP23017,
    Ads1115,
    I2cPart,
    Ina226,
    Mcp4725,
    Mcp23017,
    ScanConverter,
)
from pulldrop.plant.bench.bench import Bench, PinEdge, Pins
from pulldrop.plant.bench.frontend import ADC_V
from pulldrop.plant.bench.scan import Level as PinLevel
from pulldrop.plant.specimen import Specimen

SEGMENT = CLOCK_HZ // 1000
SEGMENT_AFTER_ACT = SEGMENT // 16
"""How far the plant runs ahead: little after the program has acted, for it often drives several pins in a row."""
CALM_SEGMENT = 10 * SEGMENT
"""The same while nothing moves in the plant."""
ACTED = int(Happening.OUTPUTS | Happening.BUS_WORD | Happening.RESTARTED)
SAID, HALTED, RESTARTED, CONVERSION = (
    int(one) for one in (Happening.SAID, Happening.HALTED, Happening.RESTARTED, Happening.CONVERSION)
)
CONVERSIONS_AHEAD = 15
"""Of a slow channel that holds still, given with the first: the firmware takes the mean of sixteen."""
GRID = CLOCK_HZ // 10_000
"""Points at which the plant tells the coil's current where that is not straight; lines between err by less than 0.1
converter counts."""

# Bits of Chip.outputs, by hardware/pins.yaml (a test compares): port B from 0, port C from 8, port D from 16.
COIL, DIODE, LAMP, THROWS, DRY, BRANCHES = 1 << 1, 1 << 2, 1 << 5, 3, 10, 19
WATCHED = COIL | DIODE | LAMP | 3 << THROWS | 3 << DRY | 15 << BRANCHES
STOP = (ChipPort.D, 2)
EDGES = ((ChipPort.B, 0), (ChipPort.D, 7))  # NO, NC
CURRENT, TEMPERATURE, SUPPLY, LOW_SIDE = 0, 1, 6, 7  # converter channels of the chip
SLOW = {TEMPERATURE: 1, SUPPLY: 2, LOW_SIDE: 3}  # their numbers at the bench
BARE = {
    "85": (ChipPort.B, 2, 6), "86": (ChipPort.B, 3, 7), "87": (ChipPort.B, 0, 2), "87a": (ChipPort.B, 4, 3),
    "30": (ChipPort.D, 7, 0),
}  # of each terminal of a bare board: the pin that drives it, the converter channel that senses it  # fmt: skip
SENSED = {channel: terminal for terminal, (_, _, channel) in BARE.items()}
DIRECTION_AT, LATCH_AT = (0x24, 0x27, 0x2A), (0x25, 0x28, 0x2B)
"""DDRx and PORTx of ports B, C, D in the data space."""


class Machine:
    """The emulated board without a line: bytes in, bytes out, and simulated time.

    `bare`: the Nano and a few resistors; nothing on the bus, no emergency stop, no outputs.
    """

    CHIP = Chip

    def __init__(self, elf: Path, plant: Bench, eeprom: bytes = b"", bare: bool = False) -> None:
        self.chip = self.CHIP(elf, eeprom, WATCHED)
        self.plant = plant
        self.bare = bare
        self.parts: dict[int, I2cPart] = {}
        if not bare:
            self._fit_parts()
        self.pins = Pins()
        self.restarts = 0
        self._hz = CLOCK_HZ * (1 + plant.frontend.tick)  # the resonator of this board, against the plant's true time
        self._to_reference = ADC_V / plant.frontend.vcc_v  # the shim's converter has a reference of 5 V
        self.chip.set_noise(plant.frontend.conversion_noise_v * self._to_reference, plant.converter_seed)
        self._stop_turns: Level | None = None
        self._segment = SEGMENT_AFTER_ACT
        for channel in self._asked():
            self.chip.ask(channel)
        self._solved: tuple[object, dict[str, float]] | None = None
        self.open_stop(bare)  # a bare board has none: its pin is open
        self._meet()

    def _asked(self) -> Iterable[int]:
        """Converter channels whose volts are asked for at each conversion."""
        return (*SENSED, TEMPERATURE) if self.bare else SLOW

    def _fit_parts(self) -> None:
        """Put the parts of the full build on the bus."""
        self.dac, self.ports = Mcp4725(self.chip, 2), Mcp23017(self.chip, 3)
        self.parts = {
            ADS1115: Ads1115(self.chip, 0),
            INA226: Ina226(self.chip, 1),
            MCP4725: self.dac,
            MCP23017: self.ports,
            ADS1115_SCAN: ScanConverter(self.chip, 4, self.ports),
        }

    @property
    def time_s(self) -> float:
        """Simulated seconds since power-on."""
        return self.chip.cycle / self._hz

    def listen(self, seconds: float) -> None:
        """Let simulated time pass until the board has said something, but no longer than this."""
        self.chip.listen(True)
        try:
            self.run(seconds)
        finally:
            self.chip.listen(False)

    def run(self, seconds: float) -> None:
        """Let simulated time pass. Raises EmulatorError when the program crashes."""
        until = self.chip.cycle + round(seconds * self._hz)
        while self.chip.cycle < until:
            saved = self.plant.snapshot()
            end = self._run_ahead(min(until, *self._dues()))
            happened = self.chip.run(end)
            early = self.chip.cycle < end
            if early:
                self.plant.restore(saved)
                self.plant.advance(self.time_s)
            self._attend(happened)
            if self.plant.calm:
                self._segment = CALM_SEGMENT
            elif early or happened & ACTED:
                self._segment = SEGMENT_AFTER_ACT
            else:
                self._segment = min(self._segment * 4, CALM_SEGMENT if self.plant.straight_s else SEGMENT)
            if happened & SAID:
                return

    def receive(self, data: bytes) -> int:
        """Bytes from the host; returns how many found room on the line."""
        return self.chip.receive(data)

    def sent(self) -> bytes:
        """Bytes for the host since the last call."""
        return self.chip.sent()

    def open_stop(self, opened: bool) -> None:
        """Press (open) or release the emergency stop; open, it also breaks both supplies, at once. Its pin follows when
        the capacitor there is charged."""
        was_open = self.plant.stop_open
        self.plant.press_stop(opened and not self.bare)
        is_open = self.plant.stop_open or self.bare
        if not self.chip.cycle:
            self.chip.set_input(*STOP, is_open)
            return
        if is_open != was_open:
            later_s = self.plant.inputs.stop_s(is_open, self._pulled_up(STOP), self.plant.frontend.vcc_v)
            self._stop_turns = Level(self.chip.cycle + round(later_s * self._hz), *STOP, is_open)
        self._meet()

    def insert(self, specimen: Specimen) -> None:
        """Another part into the socket; what the program drives reaches it at once."""
        self.plant.insert(specimen)
        self.pins, self._solved = Pins(), None
        self._meet()

    def exchange_leads(self, exchanged: bool) -> None:
        """The leads to 85 and 86 in each other's place, or back; what the program drives reaches the part at once."""
        self.plant.exchange_leads(exchanged)
        self.pins = Pins()
        self._meet()

    def reset(self) -> None:
        """Press the reset button."""
        self.chip.reset()
        self.restarts += 1
        self._meet()

    def close(self) -> None:
        """Give the chip's memory back."""
        self.chip.close()

    def _dues(self) -> Iterator[int]:
        now = self.chip.cycle
        yield now + self._segment
        yield from (max(part.due, now + 1) for part in self.parts.values() if part.due is not None)

    def _run_ahead(self, end: int) -> int:
        """Let the plant show what it will do until `end`, and tell the chip."""
        start = self.chip.cycle
        edges, pin_v = self._shown(end)
        self.chip.schedule(self._levels(edges, end))
        step = (end - start) // (len(pin_v) - 1)
        self.chip.set_wave(CURRENT, start, step, [volts * self._to_reference for volts in pin_v])
        return end

    def _levels(self, edges: Sequence[PinEdge], end: int) -> list[Level]:
        """What the input pins do until `end`, in order."""
        levels = [Level(round(edge.time_s * self._hz), *EDGES[edge.throw], not edge.closed) for edge in edges]
        if self._stop_turns:
            levels.append(self._stop_turns)
        return sorted(levels, key=lambda level: level.cycle)

    def _seen(self) -> int:
        """Throws that the contact pins see closed, as bits."""
        return self.plant.closed()

    def _shown(self, end: int) -> tuple[list[PinEdge], list[float]]:
        """What the plant does until `end`; in fewer points where that is straight, unless something begins to move."""
        plant, ahead = self.plant, end - self.chip.cycle
        closely, straight = max(1, round(ahead / GRID)), plant.straight_s * self._hz
        count = max(1, ceil(ahead / straight)) if straight else closely
        if count < closely:
            saved = None if plant.calm else plant.snapshot()
            shown = plant.advance_through(self._moments(end, count))
            if saved is None or plant.straight_s:
                return shown
            plant.restore(saved)
        return plant.advance_through(self._moments(end, closely))

    def _moments(self, end: int, count: int) -> list[float]:
        start = self.chip.cycle
        return [(start + (end - start) * i / count) / self._hz for i in range(1, count + 1)]

    def _volts(self, channel: int) -> float:
        return self.plant.adc_volts(channel) * self._to_reference

    def _asked_volts(self, channel: int) -> float:
        if self.bare and channel != TEMPERATURE:
            return self.plant.noisy(self._sensed(SENSED[channel])) * self._to_reference
        return self._volts(SLOW[channel])

    def _sensed(self, terminal: str) -> float:
        """Volts at a sense pin of the bare board, solved again when a drive pin or the part has changed."""
        levels = {name: level for name in BARE if (level := self._drive_level(name))}
        now = (levels, self.plant.network())
        if self._solved is None or self._solved[0] != now:
            self._solved = (now, self.plant.bare_volts(levels))
        return self._solved[1][terminal]

    def _drive_level(self, terminal: str) -> PinLevel | None:
        port, bit, _ = BARE[terminal]
        driven, high = (bool(self.chip.memory(at[port]) >> bit & 1) for at in (DIRECTION_AT, LATCH_AT))
        if driven:
            return "high" if high else "low"
        return "weak" if high else None

    def _pulled_up(self, pin: tuple[ChipPort, int]) -> bool:
        """Whether the program has the chip's own pull-up on at an input pin; no bit of MCUCR turns them all off."""
        port, bit = pin
        driven, high = (self.chip.memory(at[port]) >> bit & 1 for at in (DIRECTION_AT, LATCH_AT))
        return bool(high and not driven)

    def _attend(self, happened: int) -> None:
        """The plant is where the chip is: see to what ended the run."""
        if happened & HALTED:
            raise EmulatorError("the firmware on the emulated board crashed; run its own tests: make -C firmware test")
        if happened & RESTARTED:
            self.restarts += 1
        for word in self.chip.words():
            self.parts[word.address].written(word.register, word.value, word.cycle)
        for part in self.parts.values():
            if part.due is not None and part.due <= self.chip.cycle:
                part.finish(self.plant)
        if happened & CONVERSION:
            channel = self.chip.asked
            self.chip.set_volts(channel, self._asked_volts(channel))
            steady = self.plant.calm or (self.plant.straight_s and channel != LOW_SIDE)
            if steady and not self.bare:  # a bare board's pins are driven without ending a run
                self.chip.set_ahead(channel, [self._asked_volts(channel) for _ in range(CONVERSIONS_AHEAD)])
        self._meet()

    def _meet(self) -> None:
        """Bring the chip's outputs to the plant, and the plant's contacts to the chip."""
        if self._stop_turns and self._stop_turns.cycle <= self.chip.cycle:
            self.chip.set_input(*STOP, self._stop_turns.high)  # a run that ends in that very cycle leaves it out
            self._stop_turns = None
        if self.bare:
            return
        pins = self._pins_now()
        if pins != self.pins:
            self.pins = pins
            self.plant.drive(pins)
        closed = self._seen()
        for throw, (port, bit) in enumerate(EDGES):
            high = not closed >> throw & 1
            if self.chip.level(port, bit) != high:
                self.chip.set_input(port, bit, high)

    @property
    def _dac_code(self) -> int:
        return self.dac.code

    def _pins_now(self) -> Pins:
        out = self.chip.outputs
        return Pins(
            dac=self._dac_code,
            lamp=bool(out & LAMP),
            coil=bool(out & COIL),
            diode=bool(out & DIODE),
            branches=out >> BRANCHES & 15,
            throws=out >> THROWS & 3,
            dry=out >> DRY & 3,
            pull_ups=sum(self._pulled_up(pin) << throw for throw, pin in enumerate(EDGES)),
        )
