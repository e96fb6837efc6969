"""The evening build's bench: one supply behind a main relay, no DAC, one load, and a knob that a hand turns.

Rule: only what differs from the full bench; the part, its contacts and the converters are the same. K1's contact is
taken as closed and opened at once; that nothing is switched by it is the firmware's promise, and `made_by_relay` counts
where it was broken.
"""

import math
from dataclasses import dataclass, replace

from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.bench.pins import Pins
from pulldrop.plant.bench.socket import PinEdge
from pulldrop.plant.network import Diode, Resistor, solve
from pulldrop.plant.noise import Chance
from pulldrop.plant.specimen import Specimen

VCC, VCC_ROOM = -0.025, 0.075
"""5 V of the USB port through the Nano: 4.5 to 5.25 V."""
FAST_GAIN, RESISTORS, OFFSET_V = 20.1, 0.014, 150e-6
"""MCP617 with two resistors of 1 %; its offset at most (data sheet, from memory)."""
SUPPLY_V, SUPPLY_ROOM, SOURCE_OHM = 12.4, 0.05, 0.05
"""A supply of 12 V or a rested battery; its resistance with fuse, wires and K1 (assumed)."""
FEED_V, FEED_OHM = 0.35, 3.1
"""Schottky diode, and PTC with R136 and the current meter before the coil (data sheets, from memory)."""
FOLLOWER_V = 1.6
"""What the knob's transistor leaves of the rail at least."""
LOOK_V, LOOK_OHM = 0.3, 245.0
"""Schottky diode, 220 ohm and the pin that feeds the look at a coil."""
DRY_OHM, DRY_ROOM = 1000.0, 0.02
"""910 ohm, the pin, and a Schottky diode, as one resistor that takes the same current at 5 V."""
RELAY_RESTS_S = 0.02
"""K1 has operated and bounced off within that (makers' sheets of 30 A relays: 7 to 15 ms)."""
KNOB_S = 4e-3
"""The knob is taken as still for so long: 4 mV at 1 V/s."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A hand that turns the knob from one voltage to another, begun at a moment: volts per second on average, and how
    it sways: (share of the rate, radians per second, phase) each, together less than 1, so that it never turns back."""

    from_v: float
    to_v: float
    begun_s: float
    rate: float
    sway: tuple[tuple[float, float, float], ...]

    def volts(self, at_s: float) -> float:
        """Where the knob stands."""
        passed = max(at_s - self.begun_s, 0.0)
        swayed = sum(share / w * (math.sin(w * passed + phase) - math.sin(phase)) for share, w, phase in self.sway)
        way = min(self.rate * (passed + swayed), abs(self.to_v - self.from_v))
        return self.from_v + math.copysign(way, self.to_v - self.from_v)


RATE_V_S, RATE_SPREAD, STARTS_S, FAST_V_S = 0.8, 0.35, (0.3, 1.0), 10.0
"""A person who was asked to turn slowly: the median of their rates, its standard deviation as a logarithm, and how long
they take to begin; one who need not be slow (assumed)."""


class EveningBench(Bench):
    """`seed` as for Bench; the hand is drawn from it as well."""

    def __init__(self, specimen: Specimen, seed: int | None) -> None:
        self._knob: float | Turn | None = None
        self._person = None if seed is None else Chance(seed ^ 0xA4D)
        self.made_by_relay = 0
        self._turned_s = 0.0
        self.lit_since = 0.0
        """When K1 was last closed."""
        dry = 0.0 if seed is None else Chance(seed ^ 0xD21).within(DRY_ROOM)
        self._source_dry_ohm = DRY_OHM * (1 + dry)
        super().__init__(specimen, seed)

    @staticmethod
    def drawn(seed: int | None) -> fe.Frontend:
        """The front end's parts."""
        gain = FAST_GAIN / fe.FAST_GAIN - 1
        full = fe.drawn(seed)
        if seed is None:
            return replace(full, vcc=VCC, fast_gain=gain, load_supply=SUPPLY_V / fe.LOAD_V - 1)
        w = Chance(seed ^ 0xE7E).within
        return replace(
            full,
            vcc=VCC + w(VCC_ROOM),
            fast_gain=(1 + gain) * (1 + w(RESISTORS)) - 1,
            fast_zero_v=w(OFFSET_V) * FAST_GAIN,
            load_supply=SUPPLY_V / fe.LOAD_V * (1 + w(SUPPLY_ROOM)) - 1,
        )

    # --- what feeds it ---

    def drive(self, pins: Pins) -> None:
        """See Socket; notes where K1 makes a current."""
        if pins.lamp and not self.pins.lamp:
            self.lit_since = self.time_s
        on = (pins.coil and not self.pins.coil) or (pins.throws and not self.pins.throws)
        if on and pins.lamp and self.time_s - self.lit_since < RELAY_RESTS_S:
            self.made_by_relay += 1
        super().drive(pins)

    @property
    def dry_ohm(self) -> float:
        """See Socket."""
        return self._source_dry_ohm

    @property
    def _load_v(self) -> float:
        return self.frontend.load_supply_v if self._arrived.lamp and not self.stop_pressed else 0.0

    @property
    def coil_rail_v(self) -> float:
        """See Socket: at terminal 86, where a person reads it."""
        return self.coil_supply_v

    def _load_siemens(self) -> float:
        return 1 / (1 / super()._load_siemens() + SOURCE_OHM)

    def _pin_v(self, channel: int) -> float:
        if channel == 2:  # before K1
            return self.frontend.load_supply_v * fe.LOAD_DIVIDER
        return super()._pin_v(channel)

    @property
    def coil_supply_v(self) -> float:
        """Volts at terminal 86: of the supply or the knob behind K1, or of the look's few mA."""
        pins = self._arrived
        if not pins.lamp:
            return self._looked()[0] if pins.diode and pins.coil else 0.0
        if not self._coil_fed:
            return 0.0
        rail_v = self._load_v - FEED_V - SOURCE_OHM * self._load_a()
        feed_ohm = FEED_OHM
        if self._knob is not None:  # the knob is a share of a rail that sags with the coil's current
            knob_v = max(min(self._knob_v, rail_v - FOLLOWER_V), 0.0)
            feed_ohm, rail_v = FEED_OHM * knob_v / max(rail_v, 1e-9), knob_v
        if not pins.coil:
            return rail_v
        ohm = self.relay.ohm + self.frontend.harness.switch_ohm
        return rail_v * ohm / (ohm + feed_ohm)

    def ina_counts(self) -> tuple[int, int]:
        """See Bench; in a look, whose source is a soft one, as the network between 86 and 85 has it."""
        pins = self._arrived
        if pins.lamp or not (pins.diode and pins.coil):
            return super().ina_counts()
        return self.frontend.ina_counts(*self._looked(), (self._chance.normal(), self._chance.normal()))

    def _looked(self) -> tuple[float, float]:
        """Volts at 86 and amps into it, the coil's switch closed and K1 open."""
        elements = [*self.network(), Diode("5v", "86", LOOK_V, LOOK_OHM)]
        elements.append(Resistor("85", "gnd", self.frontend.harness.switch_ohm))
        vcc_v = self.frontend.vcc_v
        volts = solve(elements, {"5v": vcc_v, "gnd": 0.0, "30": 0.0})["86"]
        return volts, max(vcc_v - LOOK_V - volts, 0.0) / LOOK_OHM

    # --- the hand ---

    @property
    def _knob_v(self) -> float:
        return self._knob.volts(self.time_s) if isinstance(self._knob, Turn) else self._knob or 0.0

    def set_knob(self, volts: float | None) -> None:
        """S4 to the knob at these volts, or back to the supply (None), with everything off."""
        self._knob = volts
        self._feed_coil()

    def turn_knob(self, to_v: float) -> None:
        """A hand begins to turn it slowly; on a perfect bench evenly. With S4 at the supply that does nothing."""
        person = self._person
        if self._knob is None:
            return
        if person is None:
            self._knob = Turn(self._knob_v, to_v, self.time_s + STARTS_S[0], RATE_V_S, ())
            return
        first, last = STARTS_S
        begins = self.time_s + first + (last - first) * person.uniform()
        rate = RATE_V_S * math.exp(RATE_SPREAD * person.normal())
        shares = (0.35 * person.uniform(), 0.25 * person.uniform(), 0.2 * person.uniform())
        sway = tuple((share, 1.5 + 12 * person.uniform(), 6.3 * person.uniform()) for share in shares)
        self._knob = Turn(self._knob_v, to_v, begins, rate, sway)

    def hurry_knob(self) -> None:
        """A hand turns it fast, to where it was going."""
        if isinstance(self._knob, Turn):
            self._knob = Turn(self._knob_v, self._knob.to_v, self.time_s, FAST_V_S, ())

    @property
    def hand_moves(self) -> bool:
        """See Bench."""
        return isinstance(self._knob, Turn) and self._arrived.coil

    def advance(self, until_s: float) -> list[PinEdge]:
        """See Socket; the knob moves in small steps."""
        if not self.hand_moves:
            return super().advance(until_s)
        edges: list[PinEdge] = []
        while self._turned_s + KNOB_S <= until_s:
            self._turned_s = max(self._turned_s + KNOB_S, self.time_s)
            edges += super().advance(self._turned_s)
            self._feed_coil()
        return edges + super().advance(until_s)

    def snapshot(self) -> object:
        """See Socket."""
        return super().snapshot(), self.lit_since, self.made_by_relay, self._turned_s

    def restore(self, snapshot: object) -> None:
        """See Socket."""
        inner, self.lit_since, self.made_by_relay, self._turned_s = snapshot  # type: ignore[misc]  # the tuple of snapshot()
        super().restore(inner)  # type: ignore[has-type]
