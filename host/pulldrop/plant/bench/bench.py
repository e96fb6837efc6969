"""The bench with one part in its socket: what its converters and its scan see, as counts.

Rule: nothing above this file knows physics, and nothing below it knows pins.
"""

from collections.abc import Mapping, Sequence

from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench import scan
from pulldrop.plant.bench.pins import Pins as Pins
from pulldrop.plant.bench.socket import PinEdge as PinEdge
from pulldrop.plant.bench.socket import Socket
from pulldrop.plant.network import Element
from pulldrop.plant.relay.relay import NC, NO
from pulldrop.plant.specimen import Specimen


class Bench(Socket):
    """A socket with everything around it; `seed` as there."""

    def __init__(self, specimen: Specimen, seed: int | None) -> None:
        super().__init__(specimen, seed)
        self._scan = scan.drawn(seed)

    def advance_through(
        self, times_s: Sequence[float], channel: int = 0, noisy: bool = False
    ) -> tuple[list[PinEdge], list[float]]:
        """Step to the last of these moments: all edges, and the volts at an analogue pin of the coil now and at each;
        without the noise that every conversion adds (`Frontend.conversion_noise_v`), unless asked for."""
        edges, volts = list[PinEdge](), [self.adc_volts(channel, noisy)]
        if self.hand_moves:
            for at in times_s:
                edges += self.advance(at)
                volts.append(self.adc_volts(channel, noisy))
            return edges, volts
        relay, told = self.relay, self.relay.told
        changes, amps = relay.advance_through(times_s)
        edges = self._reached(times_s[-1], told, changes)
        for self.time_s, coil_a in zip(times_s, amps, strict=True):
            relay.look_back(self.time_s, coil_a)
            volts.append(self.adc_volts(channel, noisy))
        return edges, volts

    @property
    def converter_seed(self) -> int:
        """Seed for the noise that is drawn outside the plant."""
        return self._chance.state

    def adc_volts(self, channel: int, noisy: bool = True) -> float:
        """Volts at an analogue pin: 0 coil current, 1 temperature, 2 load supply, 3 coil low side."""
        draw = self._chance.normal() if noisy and self.frontend.noise else 0.0
        return self._bent(channel, self._pin_v(channel), draw)

    def _pin_v(self, channel: int) -> float:
        """The same before the converter errs."""
        front = self.frontend
        if channel == 0:
            return self._fast_pin_v(self.relay.circuit().shunt_a)
        if channel == 1:
            return front.ntc_pin_v(front.temperature_c)
        return self._load_v * fe.LOAD_DIVIDER if channel == 2 else self.relay.circuit().low_side_v * fe.LOW_SIDE_DIVIDER

    def _fast_pin_v(self, amps: float) -> float:
        rise_k = fe.FAST_SHUNT.rise_k(self._warmth[0], amps, self.time_s - self._warmth[2])
        return self.frontend.fast_pin_v(amps, rise_k)

    def _bent(self, channel: int, volts: float, draw: float) -> float:
        """As the converter takes them; `draw`: a normal deviate."""
        front = self.frontend
        if front.noise:
            volts += front.adc_error_v(volts, draw) + self.inputs.analog_v(channel)
        most = front.vcc_v + 0.5
        return 0.0 if volts < 0.0 else volts if volts < most else most

    @property
    def hand_moves(self) -> bool:
        """Whether somebody turns what feeds the coil while time passes."""
        return False

    def adc_counts(self, channel: int) -> int:
        """One conversion, 0..1023."""
        return self.frontend.adc_counts(self.adc_volts(channel))

    def ina_counts(self) -> tuple[int, int]:
        """Bus and shunt at the end of an averaged conversion."""
        draws = (self._chance.normal(), self._chance.normal())
        return self.frontend.ina_counts(self.relay.circuit().plus_v, self._supply_a, draws)

    @property
    def _supply_a(self) -> float:
        return self.relay.circuit().supply_a

    def ads_counts(self, mux: str, gain: int) -> int:
        """One conversion of `no` (87 against 30), `nc` (87a against 30) or `shunt`; inputs end at the 5 V supply."""
        front, draw = self.frontend, self._chance.normal()
        if mux == "shunt":
            return front.ads_counts(fe.SHUNT, self._load_a() * self._load_shunt_ohm, gain, draw)
        throw = NO if mux == "no" else NC
        node, _ = self._node(throw, self._joined(self.relay.touching)[throw])
        at_30 = self._load_a() * front.load_shunt_ohm(0.0)
        return front.ads_counts(throw, node - at_30, gain, draw)

    @property
    def _load_shunt_ohm(self) -> float:
        return self.frontend.load_shunt_ohm(self.warmth_k()[1])

    # --- terminal scan ---

    def network(self) -> tuple[Element, ...]:
        """The part between its terminals, as it lies there now, for a few mA."""
        no, nc = (self._contact_ohm(throw) if self.relay.touching[throw] else None for throw in (NO, NC))
        return self.specimen.network(self.relay, (no, nc), self.time_s)

    def scan_counts(self, a: int, b: int, mux: int, gain: int) -> int:
        """One conversion of the full build's scan, its ports at `a` and `b`; `mux` and `gain` as codes."""
        return scan.ads_counts(self._scanned(a, b).at(mux), gain, self.frontend, self._chance.normal())

    def _scanned(self, a: int, b: int, dark: frozenset[str] = frozenset()) -> scan.FullVolts:
        """`dark`: lines that are open, as `scan.full` has them."""
        edge_ohm = (self.inputs.feed_ohm(NO, self._pulled(NO)), self.inputs.feed_ohm(NC, self._pulled(NC)))
        return scan.full(self.network(), self._scan, self.frontend.vcc_v, self._load_v, edge_ohm, a, b, dark)

    def bare_volts(self, levels: Mapping[str, scan.Level]) -> dict[str, float]:
        """Volts at the sense pins of a bare board, by terminal, without noise; `levels` what its drive pins do."""
        return scan.bare(self.network(), self._scan, self.frontend.vcc_v, levels)

    def noisy(self, pin_v: float) -> float:
        """The same with one conversion's noise."""
        return scan.pin_v(pin_v, self.frontend, self._chance.normal())
