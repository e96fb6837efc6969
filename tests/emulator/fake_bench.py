"""A bench whose relay switches at stated times after the coil, and whose current and counts are stated too."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from pulldrop.plant.bench.bench import PinEdge, Pins
from pulldrop.plant.bench.frontend import Frontend
from pulldrop.plant.bench.inputs import Inputs

NO, NC = 0, 1


@dataclass
class FakeBench:
    """NO follows the coil after `operate_s` or `release_s`, NC does the reverse at the same moment."""

    operate_s: float = 0.002
    release_s: float = 0.001
    amps: float = 0.05  # while the coil is on
    volts: dict[int, float] = field(default_factory=lambda: {1: 2.5, 2: 2.55, 3: 0.0})
    ina: tuple[int, int] = (9600, 4000)
    ads: dict[str, int] = field(default_factory=lambda: {"no": 2500, "nc": -3, "shunt": 6250})
    frontend: Frontend = field(default_factory=Frontend)
    inputs: Inputs = field(default_factory=Inputs)
    time_s: float = 0.0
    stop_open: bool = False
    calm: bool = False
    straight_s: float = 0.0
    converter_seed: int = 0
    pins: Pins = field(default_factory=Pins)
    on: bool = False  # the armature
    turns_at: float | None = None
    restored: int = 0
    asked: list[tuple[str, int]] = field(default_factory=list)

    def drive(self, pins: Pins) -> None:
        if pins.coil != self.pins.coil:
            self.turns_at = self.time_s + (self.operate_s if pins.coil else self.release_s)
        self.pins = pins

    def press_stop(self, pressed: bool) -> None:
        self.stop_open = pressed

    def advance(self, until_s: float) -> list[PinEdge]:
        edges = []
        if self.turns_at is not None and self.turns_at <= until_s:
            was, self.on = self.closed(), self.pins.coil
            now = self.closed()
            edges = [PinEdge(self.turns_at, t, bool(now >> t & 1)) for t in (NO, NC) if (was ^ now) >> t & 1]
            self.turns_at = None
        self.time_s = until_s
        return edges

    def advance_through(self, times_s: Sequence[float]) -> tuple[list[PinEdge], list[float]]:
        edges, volts = list[PinEdge](), [self.adc_volts(0)]
        for at in times_s:
            edges += self.advance(at)
            volts.append(self.adc_volts(0))
        return edges, volts

    def closed(self) -> int:
        return (1 if self.on else 2) & self.pins.dry

    def snapshot(self) -> object:
        return self.time_s, self.pins, self.on, self.turns_at

    def restore(self, snapshot: object) -> None:
        self.restored += 1
        self.time_s, self.pins, self.on, self.turns_at = snapshot  # type: ignore[misc]  # what snapshot() made

    def adc_volts(self, channel: int) -> float:
        if channel == 0:
            return self.amps * 0.82 * 20 if self.pins.coil else 0.0
        return self.volts[channel]

    def ina_counts(self) -> tuple[int, int]:
        return self.ina

    def ads_counts(self, mux: str, gain: int) -> int:
        self.asked.append((mux, gain))
        return self.ads[mux]


@dataclass
class Toggling(FakeBench):
    """One throw opens and closes at stated moments after the coil's switch has moved."""

    throw: int = NC
    after_s: tuple[float, ...] = ()
    ahead: tuple[PinEdge, ...] = ()
    open: bool = False

    def drive(self, pins: Pins) -> None:
        if pins.coil != self.pins.coil:
            self.ahead = tuple(PinEdge(self.time_s + at, self.throw, n % 2 == 1) for n, at in enumerate(self.after_s))
        self.pins = pins

    def advance(self, until_s: float) -> list[PinEdge]:
        due = [edge for edge in self.ahead if edge.time_s <= until_s]
        self.ahead = self.ahead[len(due) :]
        self.open = not due[-1].closed if due else self.open
        self.time_s = until_s
        return due

    def closed(self) -> int:
        return (0 if self.open else 1 << self.throw) & self.pins.dry

    def snapshot(self) -> object:
        return self.time_s, self.pins, self.open, self.ahead

    def restore(self, snapshot: object) -> None:
        self.time_s, self.pins, self.open, self.ahead = snapshot  # type: ignore[misc]  # what snapshot() made
