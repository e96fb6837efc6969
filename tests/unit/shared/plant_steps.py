"""What the tests of the plant do with a virtual part: switch it and note the times."""

from dataclasses import dataclass
from typing import Any

from pulldrop.plant.bench.bench import Bench, PinEdge, Pins
from pulldrop.plant.relay.classes import CLASSES
from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.specimen import Specimen, parts

BASES = tuple(CLASSES)
BOTH = 3


def specimen(**given: Any) -> Specimen:
    """A part by what differs from a sound 12 V changeover relay, at 23 degC."""
    return Specimen.model_validate({"title": "a part", "temperature_c": 23.0} | given)


def code(volts: float) -> int:
    """DAC code of a coil supply voltage."""
    return round(volts / 30.0 * 4096)


@dataclass(frozen=True)
class Motion:
    """One switching: edges with times from the step on, and what follows from them in ms."""

    edges: tuple[PinEdge, ...]

    def _times(self, throw: int) -> list[tuple[float, bool]]:
        return [(edge.time_s * 1e3, edge.closed) for edge in self.edges if edge.throw == throw]

    def first(self, throw: int, closed: bool) -> float | None:
        return next((at for at, state in self._times(throw) if state == closed), None)

    @property
    def operate_ms(self) -> float:
        found = self.first(NO, True)
        assert found is not None, "NO never closed"
        return found

    @property
    def opening_ms(self) -> float:
        found = self.first(NO, False)
        assert found is not None, "NO never opened"
        return found

    def bounce_ms(self, throw: int) -> float:
        start = self.first(throw, True)
        assert start is not None
        return self._times(throw)[-1][0] - start

    @property
    def transfer_ms(self) -> float:
        opened = [at for at, closed in self._times(NC) if not closed and at <= self.operate_ms]
        return self.operate_ms - opened[-1]


def switched(bench: Bench, on: bool, volts: float, diode: bool = False, window_s: float = 0.04) -> Motion:
    """Set the supply, wait, switch the coil, and note the edges."""
    bench.drive(Pins(lamp=True, dac=code(volts), coil=bench.pins.coil, diode=diode, dry=BOTH))
    bench.advance(bench.time_s + 0.1)
    start = bench.time_s
    bench.drive(Pins(lamp=True, dac=code(volts), coil=on, diode=diode, dry=BOTH))
    edges = bench.advance(start + window_s)
    return Motion(tuple(PinEdge(edge.time_s - start, edge.throw, edge.closed) for edge in edges))


def make_and_break(part: Specimen, volts: float = 13.5, diode: bool = False) -> tuple[Motion, Motion, Bench]:
    """One make and one break on a perfect bench; the bench afterwards."""
    bench = Bench(part, None)
    made = switched(bench, True, volts, diode)
    return made, switched(bench, False, volts, diode), bench


def held(part: Specimen, volts: float = 13.5, seed: int | None = None) -> Bench:
    """The coil on until everything is still."""
    bench = Bench(part, seed)
    bench.drive(Pins(lamp=True, dac=code(volts), coil=True, dry=BOTH))
    bench.advance(1.0)
    return bench


def loaded(bench: Bench, throw: int, branches: int) -> tuple[float, float]:
    """Contact volts and load amps through one throw, the converter's range as wide as needed."""
    pins = bench.pins
    bench.drive(Pins(lamp=True, dac=pins.dac, coil=pins.coil, branches=branches, throws=1 << throw))
    bench.advance(bench.time_s + 5e-3)
    for gain, full in ((5, 0.256), (3, 1.024), (1, 4.096)):
        counts = bench.ads_counts("no" if throw == NO else "nc", gain)
        volts = counts * full / 32768
        if abs(counts) < 32767:
            break
    amps = bench.ads_counts("shunt", 5) * 0.256 / 32768 / 0.005
    bench.drive(pins)
    bench.advance(bench.time_s + 5e-3)
    return volts, amps


def pull_in(part: Specimen, temperature_c: float = 20.0) -> tuple[float, float]:
    """Lowest coil supply volts in steps of 50 mV, 50 ms each, at which NO touches; the last current that did not do."""
    relay = RelayModel(parts(part), temperature_c)
    volts = 0.3 * part.nominal_v
    while volts < 2 * part.nominal_v:
        volts += 0.05
        too_little_a = relay.i
        relay.drive(volts, switch=True, diode=False)
        relay.advance(relay.t + 0.05)
        if relay.touching[NO]:
            return volts, too_little_a
    raise AssertionError("never pulled in")


def drop_out(part: Specimen, temperature_c: float = 20.0) -> float:
    """Highest coil supply volts at which NO lets go, coming down from nominal."""
    relay = RelayModel(parts(part), temperature_c)
    volts = part.nominal_v
    relay.drive(volts, switch=True, diode=False)
    relay.advance(0.2)
    while volts > 0:
        volts -= 0.05
        relay.drive(volts, switch=True, diode=False)
        relay.advance(relay.t + 0.05)
        if not relay.touching[NO]:
            return volts
    raise AssertionError("never dropped out")
