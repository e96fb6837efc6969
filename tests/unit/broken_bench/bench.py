"""The plant's bench with a fault of its own: a broken wire (`wires`), or one that nothing shows (`latent`)."""

from dataclasses import replace

from broken_bench.contact_side import SHORT_OHM, Feeds, Seen, contact_side
from broken_bench.effect import BRANCHES, COIL_CURRENT, LOW_SIDE, TEMPERATURE, WHOLE, Effect, arriving, driven
from broken_bench.latent import SOUND
from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench import scan
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.bench.feeds import DRY_OHM, RAIL_V, THROW_OHM
from pulldrop.plant.bench.pins import Pins
from pulldrop.plant.network import Element, Resistor
from pulldrop.plant.relay.relay import NC, NO
from pulldrop.plant.relay.suppression import LIMIT_A
from pulldrop.plant.specimen import Specimen

RAIL_DROP_V = 3.0
"""What the coil supply keeps of its rail at its upper end: op amp, darlington and R14 (about, from memory of their
sheets)."""
STAR_OHM = 0.02
"""From R30's V- to ground: 0.25 mm2, 0.3 m (hardware/guide.md). The converter's ground lies at its far end."""
USB_VCC = -0.08
"""5 V of a USB port behind the Nano's diode: 4.6 V (about)."""
BREAKDOWN_V = 100.0
"""Of Q3 (hardware/catalogue.yaml)."""


class BrokenBench(Bench):
    """Whole at first; set `latent` for a fault that nothing shows, and `wires`, or call `break_wires`, for the rest."""

    def __init__(self, specimen: Specimen, seed: int | None) -> None:
        self.wires, self.latent = WHOLE, SOUND
        super().__init__(specimen, seed)
        self._whole = self.frontend

    def break_wires(self, broken: Effect) -> None:
        """Wires come off or touch; `WHOLE`: all are mended. Everything off."""
        self.drive(Pins())
        self.wires = broken
        self.frontend = replace(self._whole, vcc=USB_VCC) if broken.usb else self._whole
        if broken.unclamped:
            self.frontend = replace(self.frontend, harness=replace(self._whole.harness, tvs_v=BREAKDOWN_V))
        if self.relay.harness != self.frontend.harness:
            self.insert(self.specimen)
        self._feed_coil()
        self._look(self.time_s, self.relay.touching)

    def _arriving(self, pins: Pins) -> Pins:
        return arriving(pins, self.wires)

    # --- supplies and stop ---

    @property
    def stop_open(self) -> bool:
        return self.wires.stopped or self.latent.stop_open(self.stop_pressed)

    @property
    def _coil_fed(self) -> bool:
        return self.latent.coil_fed(self.stop_pressed) and not self.wires.no_supply

    def _feed_coil(self) -> None:
        if self.specimen.layout == "usual":
            pins = self._arrived
            self.relay.drive(self.coil_supply_v, pins.coil and not self.wires.coil, pins.diode)

    @property
    def coil_supply_v(self) -> float:
        """Of its DAC also while what holds it at 0 has failed."""
        if not self._coil_fed or self._shorted:
            return 0.0
        if self.wires.runaway:
            return RAIL_V - RAIL_DROP_V
        follows = self._arrived.lamp or self.latent.supply or self.wires.unheld
        return self.frontend.coil_v(self._arrived.dac) if follows else 0.0

    @property
    def _shorted(self) -> bool:
        """Whether the coil supply works on a short between 85 and 86: its limit flows, and its volts are gone."""
        return self.wires.coil_shorted and self._arrived.coil and self._arrived.dac > 0

    @property
    def _supply_a(self) -> float:
        return LIMIT_A if self._shorted else super()._supply_a

    @property
    def _load_v(self) -> float:
        fed = self.latent.load_fed(self.stop_pressed) and not self.wires.no_load
        return self.frontend.load_supply_v if fed else 0.0

    @property
    def _branches(self) -> int:
        return self._arrived.branches | self.latent.branches

    @property
    def _throws(self) -> int:
        if not self._arrived.throws:
            return self.latent.throws
        for_s = 0.0 if self.wires.unlimited else self.time_s - self._throws_since
        return self.latent.throws_on(self._arrived.throws, for_s)

    def _load_siemens(self) -> float:
        branches = sum(
            1 / (ohm * (1 + error) * (2 if name in self.wires.half else 1))
            for bit, (name, ohm, error) in enumerate(zip(BRANCHES, fe.BRANCH_OHM, self.frontend.branches, strict=True))
            if self._branches & 1 << bit
        )
        return 1 / (1 / branches + THROW_OHM)

    @property
    def _load_shunt_ohm(self) -> float:
        return super()._load_shunt_ohm + (STAR_OHM if self.wires.earthed else 0.0)

    # --- contacts ---

    def _edge_v(self, throw: int, node_v: float) -> float:
        """A pin that floats goes where its leakage takes it."""
        wires, vcc_v = self.wires, self.frontend.vcc_v
        if not wires.contact_side:
            return super()._edge_v(throw, node_v)
        name = ("edge_no", "edge_nc")[throw]
        if name in wires.cut:
            return vcc_v if self.inputs.leak_a[throw] >= 0 else 0.0
        for pin, output in wires.drives:
            if pin == name:
                return vcc_v if driven(self.pins, output) else 0.0
        return self._side(throw, None).pin_v[throw] if wires.joined or wires.cut else super()._edge_v(throw, node_v)

    def _node(self, throw: int, touching: bool) -> tuple[float, float]:
        if not self.wires.contact_side:
            return super()._node(throw, touching)
        seen = self._side(throw, touching)
        return seen.strip_v[throw], seen.amps[throw]

    def _side(self, throw: int, touching: bool | None, gain: int = 5) -> Seen:
        """The contact side with a broken wire; `touching`: that of one throw, if it is not as the relay has it now."""
        joined = list(self._joined(self.relay.touching))
        if touching is not None:
            joined[throw] = touching
        front, pins = self.frontend, self._arrived
        amps = [self._touches[t].carried_a if self._branches else 0.0 for t in (NO, NC)]
        ohms = [self._contact_ohm(t, amps[t]) + self._seated.clip_ohm[t] if joined[t] else None for t in (NO, NC)]
        pulls = [self.inputs.feed_ohm(t, self._pulled(t)) - self.inputs.series_ohm(t) for t in (NO, NC)]
        loaded = self._branches and self._load_v
        loads = [1 / self._load_siemens() if loaded and self._throws >> t & 1 else None for t in (NO, NC)]
        feeds = Feeds(
            vcc_v=front.vcc_v,
            dry_ohm=(DRY_OHM if pins.dry & 1 else None, DRY_OHM if pins.dry & 2 else None),
            pull_ohm=(pulls[NO], pulls[NC]),
            series_ohm=(self.inputs.series_ohm(NO), self.inputs.series_ohm(NC)),
            load_v=self._load_v,
            load_ohm=(loads[NO], loads[NC]),
            shunt_ohm=front.load_shunt_ohm(0.0),
        )
        return contact_side(feeds, (ohms[NO], ohms[NC]), fe.ADS_OHM[gain], self.wires.cut, self.wires.joined)

    # --- converters ---

    def _pin_v(self, channel: int, mixed: bool = False) -> float:
        """`mixed`: as if apart."""
        wires, around = self.wires, self.relay.circuit()
        volts = super()._pin_v(channel)
        if channel == COIL_CURRENT and self._shorted:
            volts = self._fast_pin_v(LIMIT_A)
        if channel == LOW_SIDE and wires.coil_shorted:
            volts = around.plus_v * fe.LOW_SIDE_DIVIDER
        if channel == LOW_SIDE and wires.coil:
            volts = 0.0
        if channel in wires.mixed and not mixed:
            volts = sum(self._pin_v(one, mixed=True) for one in wires.mixed) / len(wires.mixed)
        if channel in wires.low:
            volts = 0.0
        if channel in wires.high:
            volts = self.frontend.vcc_v
        if channel in wires.floats:
            volts = self.frontend.vcc_v if channel == TEMPERATURE else self.inputs.floating_v
        return volts

    def ina_counts(self) -> tuple[int, int]:
        bus, shunt = super().ina_counts()
        if self.wires.shunt_end:  # its input falls to ground by its own bias
            shunt = 32767 if self.wires.shunt_end > 0 else -32768
        return 0 if self.wires.no_bus else bus, shunt

    def ads_counts(self, mux: str, gain: int) -> int:
        if not self.wires.contact_side:
            return super().ads_counts(mux, gain)
        front, draw = self.frontend, self._chance.normal()
        seen = self._side(NO, None, gain)
        volts = {"no": seen.sensed_v[NO], "nc": seen.sensed_v[NC], "shunt": seen.shunt_v}[mux]
        return front.ads_counts({"no": NO, "nc": NC, "shunt": fe.SHUNT}[mux], volts, gain, draw, biased=True)

    def network(self) -> tuple[Element, ...]:
        elements = super().network()
        if self.wires.bridged:
            elements += (Resistor(*self.wires.bridged, SHORT_OHM),)
        return (*elements, Resistor(*self.wires.leak)) if self.wires.leak else elements

    def _scanned(self, a: int, b: int, dark: frozenset[str] = frozenset()) -> scan.FullVolts:
        wires = self.wires
        a, b = (port & ~low | high for port, low, high in zip((a, b), wires.port_low, wires.port_high, strict=True))
        seen = super()._scanned(a, b, dark | wires.dark)
        pins = ("drive", "sink", "look", "supply")
        return replace(seen, **{pins[pin]: self.inputs.floating_v for pin in wires.adrift})
