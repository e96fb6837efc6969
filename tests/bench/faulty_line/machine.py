"""The emulated board with a bench that does wrong: storms of edges, parts that leave the bus; emulated or native.

The native one takes larger steps of the plant where nothing moves: it is there for thousands of runs.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

from faulty_line.native import NativeChip

from pulldrop.emulator import build
from pulldrop.emulator.chip import CLOCK_HZ, ChipPort, Level
from pulldrop.emulator.machine import CURRENT, SEGMENT, Machine
from pulldrop.emulator.memory import eeprom
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.specimen import Specimen
from pulldrop.wire.messages import BAUD

GRID_HZ = 2000
"""Points of the coil's current in a second on the native board; straight lines between."""
CALM_SEGMENT = 10 * SEGMENT
"""How far the plant of the native board runs ahead where nothing moves by itself."""
HELD, WIRE = -1, -2
BYTE_S = 10 / BAUD
CYCLES_A_US = CLOCK_HZ // 1_000_000


class FaultyMachine(Machine):
    """The compiled firmware in the emulator, on a bench of that seed with that part."""

    def __init__(self, specimen: Specimen, seed: int) -> None:
        self._storm: tuple[tuple[ChipPort, int], int, int] | None = None
        self.well_s = 0.0
        self.arrives_s = 0.0
        """When the last byte that was given to the line is at the board."""
        self.on_s = self.dac_s = -1.0
        """When coil switch, branches or throws were last on, and the DAC above zero."""
        self._ill: set[int] = set()
        super().__init__(self.elf(), Bench(specimen, seed), eeprom())

    @staticmethod
    def elf() -> Path:
        """What runs on the chip."""
        return build.firmware()

    def receive(self, data: bytes) -> int:
        """Bytes on the line, one behind the other, whoever says them."""
        taken = super().receive(data)
        self.arrives_s = max(self.arrives_s, self.time_s) + taken * BYTE_S
        return taken

    def storm(self, pin: tuple[ChipPort, int], gap_us: int, seconds: float) -> None:
        """Edges on an input pin, one every `gap_us`, for so long."""
        self._storm = (pin, gap_us * CYCLES_A_US, self.chip.cycle + round(seconds * CLOCK_HZ))

    def fit(self, place: int, fitted: bool) -> None:
        """Take an I2C part off the bus, or put it back."""
        address, part = list(self.parts.items())[place]
        self.chip.set_part(part._index, address, fitted, pairs=part is self.dac)  # type: ignore[attr-defined]
        self._mark(place, fitted)

    def hold_bus(self, held: bool) -> None:
        """Both lines of the bus held low, or let go."""
        self.chip.hold_bus(held)
        self._mark(HELD, not held)

    def break_wire(self, name: str) -> None:
        """As the emulated board's; a wire of the bus makes it ill."""
        super().break_wire(name)
        self._mark(WIRE, not name)

    def mend(self) -> None:
        """All parts on a bus that is free, every wire, the stop closed, no storm."""
        for place in list(self._ill - {WIRE}):
            self.hold_bus(False) if place == HELD else self.fit(place, True)
        if WIRE in self._ill:
            self.break_wire("")
        self._storm = None
        self.open_stop(False)

    def _meet(self) -> None:
        pins = self.pins  # as they were until now
        if pins.coil or pins.branches or pins.throws:
            self.on_s = self.time_s
        if pins.dac:
            self.dac_s = self.time_s
        super()._meet()

    def _mark(self, place: int, well: bool) -> None:
        """`well_s`: since when nothing of the bus is ill."""
        if well:
            self._ill.discard(place)
            self.well_s = self.time_s
        else:
            self._ill.add(place)

    def _dues(self) -> Iterator[int]:
        yield from super()._dues()
        if self._storm:
            yield self.chip.cycle + SEGMENT

    def _run_ahead(self, end: int) -> int:
        done = super()._run_ahead(end)
        if self._storm:
            self.chip.schedule(sorted(self._edges_until(end), key=lambda level: level.cycle))
        return done

    def _edges_until(self, end: int) -> Sequence[Level]:
        """Edges of the storm; they hide those of the contact."""
        assert self._storm
        (port, bit), gap, until = self._storm
        first = self.chip.cycle // gap + 1
        if self.chip.cycle >= until:
            self._storm = None
        return [Level(gap * i, port, bit, bool(i & 1)) for i in range(first, min(end, until) // gap)]


class NativeMachine(FaultyMachine):
    """The same bench with the core as a program of this PC."""

    CHIP = NativeChip

    @staticmethod
    def elf() -> Path:
        """Nothing is loaded: the core is in the library."""
        return Path()

    def _dues(self) -> Iterator[int]:
        calm = self.plant.calm and not self._storm and not self._stop_turns  # type: ignore[attr-defined]
        first, *others = super()._dues()
        yield self.chip.cycle + CALM_SEGMENT if calm else first
        yield from others

    def _run_ahead(self, end: int) -> int:
        start = self.chip.cycle
        count = 1 if self.plant.calm else max(1, (end - start) * GRID_HZ // CLOCK_HZ)  # type: ignore[attr-defined]
        volts, edges = [self._volts(CURRENT)], []
        for i in range(1, count + 1):
            edges += self.plant.advance((start + (end - start) * i / count) / self._hz)
            volts.append(self._volts(CURRENT))
        levels = [self._level(edge) for edge in edges]
        if self._storm:
            levels += self._edges_until(end)
        if self._stop_turns:
            levels.append(self._stop_turns)
        self.chip.schedule(sorted(levels, key=lambda level: level.cycle))
        self.chip.set_wave(CURRENT, start, (end - start) // count, volts)
        return end
