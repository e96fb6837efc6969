"""The emulated board with a bench that does wrong: storms of edges, parts that leave the bus; emulated or native."""

import random
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, takewhile
from pathlib import Path

from broken_bench.bench import BrokenBench
from broken_bench.boards import BrokenMachine
from broken_bench.effect import WHOLE, Effect
from faulty_line.native import NativeChip

from pulldrop.emulator import build
from pulldrop.emulator.chip import CLOCK_HZ, ChipPort, Level
from pulldrop.emulator.machine import EDGES, SEGMENT
from pulldrop.emulator.memory import eeprom
from pulldrop.plant.bench.bench import PinEdge
from pulldrop.plant.specimen import Specimen
from pulldrop.wire.messages import BAUD

HELD, WIRE = -1, -2
BYTE_S = 10 / BAUD
CYCLES_A_US = CLOCK_HZ // 1_000_000


@dataclass(frozen=True)
class Storm:
    """Noise on a throw's pin: at each of these cycles, in order, it turns over what the contact makes of the pin."""

    throw: int
    turns: Sequence[int]

    def turned(self, cycle: int) -> bool:
        """Whether the pin is turned over at this cycle."""
        return bool(bisect_right(self.turns, cycle) & 1)


class FaultyMachine(BrokenMachine):
    """The compiled firmware in the emulator, on a bench of that seed with that part."""

    def __init__(self, specimen: Specimen, seed: int) -> None:
        self._storms: list[Storm] = []
        self.well_s = 0.0
        self.arrives_s = 0.0
        """When the last byte that was given to the line is at the board."""
        self.on_s = self.dac_s = self.supply_s = -1.0
        """When coil switch, branches or throws were last on, the DAC above zero, and the coil supply at terminal 86."""
        self._ill: set[int] = set()
        super().__init__(self.elf(), BrokenBench(specimen, seed), eeprom())

    @staticmethod
    def elf() -> Path:
        """What runs on the chip."""
        return build.firmware()

    def receive(self, data: bytes) -> int:
        """Bytes on the line, one behind the other, whoever says them."""
        taken = super().receive(data)
        self.arrives_s = max(self.arrives_s, self.time_s) + taken * BYTE_S
        return taken

    def storm(
        self, pin: tuple[ChipPort, int], gap_us: float, seconds: float, chance: random.Random | None = None
    ) -> None:
        """Noise on an input pin for so long: an edge every `gap_us`, or with `chance` at random, `gap_us` apart in the
        mean. It ends as it began."""
        gap, start = round(gap_us * CYCLES_A_US), self.chip.cycle
        until = start + round(seconds * CLOCK_HZ)
        turns: Sequence[int] = range(start + gap, until, gap)
        if chance:
            gaps = iter(lambda: max(CYCLES_A_US, round(chance.expovariate(1 / gap))), 0)
            turns = list(takewhile(lambda at: at < until, accumulate(gaps, initial=start)))
        self._storms.append(Storm(EDGES.index(pin), turns[: len(turns) & -2]))

    def fit(self, place: int, fitted: bool) -> None:
        """Take an I2C part off the bus, or put it back."""
        address, part = list(self.parts.items())[place]
        self.chip.set_part(part._index, address, fitted, pairs=part is self.dac)  # type: ignore[attr-defined]
        self._mark(place, fitted)

    def hold_bus(self, held: bool) -> None:
        """Both lines of the bus held low, or let go."""
        self.chip.hold_bus(held)
        self._mark(HELD, not held)

    def break_wires(self, broken: Effect) -> None:
        """As the emulated board's; a wire of the bus makes it ill."""
        super().break_wires(broken)
        self._mark(WIRE, broken is WHOLE)

    def mend(self) -> None:
        """All parts on a bus that is free, every wire, the stop closed, no storm."""
        for place in list(self._ill - {WIRE}):
            self.hold_bus(False) if place == HELD else self.fit(place, True)
        if WIRE in self._ill:
            self.break_wires(WHOLE)
        self._storms = []
        self.open_stop(False)

    def _seen(self) -> int:
        closed, now = super()._seen(), self.chip.cycle
        self._storms = [storm for storm in self._storms if storm.turns[bisect_right(storm.turns, now) :]]
        for throw in range(len(EDGES)):
            closed ^= self._turned(throw, now) << throw
        return closed

    def _turned(self, throw: int, cycle: int) -> bool:
        """Whether the storms turn this throw's pin over at this cycle."""
        return bool(sum(storm.turned(cycle) for storm in self._storms if storm.throw == throw) & 1)

    def _meet(self) -> None:
        pins = self.pins  # as they were until now
        if pins.coil or pins.branches or pins.throws:
            self.on_s = self.time_s
        if pins.dac:
            self.dac_s = self.time_s
        if self.plant.coil_supply_v:  # type: ignore[attr-defined]
            self.supply_s = self.time_s
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
        if self._storms:
            yield self.chip.cycle + SEGMENT

    def _levels(self, edges: Sequence[PinEdge], end: int) -> list[Level]:
        """Those of the contacts, the pins of the storms turned over by them."""
        noisy = {storm.throw for storm in self._storms}
        levels = super()._levels([edge for edge in edges if edge.throw not in noisy], end)
        for throw in noisy:
            levels += self._stormy(throw, [edge for edge in edges if edge.throw == throw], end)
        return sorted(levels, key=lambda level: level.cycle)

    def _stormy(self, throw: int, edges: Sequence[PinEdge], end: int) -> Iterator[Level]:
        now = self.chip.cycle
        closed = not edges[0].closed if edges else bool(self.plant.closed() >> throw & 1)
        moves = {round(edge.time_s * self._hz): edge.closed for edge in edges}
        turns = [
            turn
            for storm in self._storms
            if storm.throw == throw
            for turn in storm.turns[bisect_right(storm.turns, now) : bisect_right(storm.turns, end)]
        ]
        for cycle in sorted({*moves, *turns}):
            closed = moves.get(cycle, closed)
            yield Level(cycle, *EDGES[throw], closed == self._turned(throw, cycle))


class NativeMachine(FaultyMachine):
    """The same bench with the core as a program of this PC."""

    CHIP = NativeChip

    @staticmethod
    def elf() -> Path:
        """Nothing is loaded: the core is in the library."""
        return Path()
