"""A board and its calibration together: volts in, values with budgets out; what is known of the part so far.

Rule: procedures ask this, not the board, for anything in volts or amps.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pulldrop.board.contract import CURRENT_LIMIT_MAX, DAC_MAX, Analog, Board, Drive
from pulldrop.measure.rig import load_supply, temperature
from pulldrop.measure.rig.budget import Scales, nominal_value, reading_noise
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.raw import CoilCounts, Contact
from pulldrop.model.reading import BEYOND_BENCH, OTHER_PART, Condition
from pulldrop.model.run.hand import Hand
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps.step import COIL_MOST_A

SPARE_COUNTS = 30
"""By how many counts of the fast converter (9 mA) an over-current limit lies above the share that it is made of."""
SUPPLY_SHARE = 0.95
"""Nearer to the supply's current limit its volts sag, and the board's own limit trips."""
BOTH = Contact.NO | Contact.NC
SENSE_S = 0.01
"""What the board takes to sense the coil."""
SAME_COIL = 0.01
"""By which share a coil's amps may change from one hold to the next, seconds later: its warmth takes 0.05 % (virtual
parts), and what is left of the armature's move some more. Two parts of a type differ by several percent."""


Enough = Callable[[str, Sequence[float]], bool]
"""Whether the single values of a measurement, by its id, tell enough: then no further make is made."""


class CannotTest(Exception):
    """The part does not allow this measurement; the message is the reason. Later steps still run."""


class PartStops(CannotTest):
    """The part allows no further step at all."""


@dataclass(frozen=True, slots=True)
class CoilPoint:
    """Coil volts and amps at one moment, each with its budget, and the counts that they came from."""

    volts: Any
    amps: Any
    counts: CoilCounts


class Bench:
    """One part on one board during one run.

    `enough`, `hand`, `cold_ohm`: see `perform`. What is known of the part comes from its steps: `rest`, the throws
    closed with the coil off; `at_nominal`, those closed at nominal volts, None when it was not held there; `coil_ohm`,
    a plain number to set volts and limits by; `coil_ohm_bench`, the same with its budget at the temperature of the
    bench, and `pull_in_amps`, of which readings are made.
    """

    def __init__(
        self,
        board: Board,
        calibration: Calibration,
        plan: Plan,
        enough: Enough | None = None,
        hand: Hand | None = None,
        cold_ohm: float | None = None,
    ) -> None:
        self.board = board
        self.hand = hand
        self.cold_ohm = cold_ohm
        self._enough = enough
        self.plan = plan
        self.scales = Scales(calibration)
        self._calibration = calibration
        self._zero_shunt: Any = 0
        self._took_a: dict[float, float] = {}
        self._set_scale = 1.0
        self.coil_ohm: float | None = None
        self.coil_ohm_bench: Any = None
        self.pull_in_amps: Any = None
        self.rest: Contact = Contact.NONE
        self.at_nominal: Contact | None = None
        self._off_since: float | None = None
        total = board.sense_analog(Analog.BENCH_TEMPERATURE)
        self.temperature_c = temperature.from_sum(total, calibration.temperature_offset_k)

    def told_enough(self, makes: Mapping[str, Sequence[float]]) -> bool:
        """Whether every one of these measurements has makes enough; never, unless somebody says what is enough."""
        return self._enough is not None and all(self._enough(id, values) for id, values in makes.items())

    @property
    def calibration(self) -> Calibration:
        """Of this bench."""
        return self._calibration

    @property
    def form_c(self) -> bool:
        """True for a changeover part."""
        return self.plan.form == "C"

    @property
    def nominal_v(self) -> float:
        """The rating's nominal coil voltage."""
        return self.plan.rating.nominal

    @property
    def strongest_v(self) -> float:
        """Highest volts that this run puts on the coil: the plan's, or nominal where the supply cannot give those."""
        return self.nominal_v if self._beyond(self.plan.strongest_v) else self.plan.strongest_v

    def _beyond(self, coil_v: float) -> bool:
        """Whether the coil would take more than the supply of the bench can give."""
        return bool(self.coil_ohm) and coil_v / (self.coil_ohm or 1.0) > COIL_MOST_A * SUPPLY_SHARE

    def temperature(self) -> Any:
        """Bench temperature in degC with its budget; CannotTest when the sensor does not read."""
        if self.temperature_c is None:
            raise CannotTest("the bench's temperature sensor does not read, so nothing can be brought to 20 degC")
        return self.temperature_c + self.scales.temperature_k

    def ohm(self) -> Any:
        """Coil resistance at the temperature of the bench; CannotTest before the coil step has told it."""
        if self.coil_ohm_bench is None:
            raise CannotTest("the coil's resistance is not known: the protocol needs a coil step first")
        return self.coil_ohm_bench

    def dac_for(self, coil_v: float) -> int:
        """DAC code that puts `coil_v` across the coil, with the drop below the coil allowed for."""
        amps = coil_v / self.coil_ohm if self.coil_ohm else 0.0
        supply_v = coil_v + amps * self._calibration.low_side_ohm
        code = round(supply_v / (self._calibration.coil_set.gain * self._set_scale) + self._calibration.coil_set.zero)
        return min(max(code, 0), DAC_MAX)

    def coil_v(self, dac: int) -> float:
        """Coil volts that a DAC code gives, the inverse of `dac_for`."""
        supply_v = (dac - self._calibration.coil_set.zero) * self._calibration.coil_set.gain * self._set_scale
        ohm = self.coil_ohm
        return supply_v * ohm / (ohm + self._calibration.low_side_ohm) if ohm else supply_v

    @property
    def volts_per_count(self) -> float:
        """Coil volts per DAC count."""
        return self.coil_v(1) - self.coil_v(0)

    @property
    def amps_per_count(self) -> float:
        """Coil amps per count of the fast converter."""
        return self._calibration.coil_fast.gain

    def trip_limit(self, coil_v: float) -> int:
        """Over-current limit in ADC counts for `coil_v`: twice what the coil should take, and a little.

        Never less than for the nominal voltage: coming down from there, the current lags for several ms.
        """
        if not self.coil_ohm:
            return CURRENT_LIMIT_MAX
        expected = max(coil_v, self.nominal_v) / self.coil_ohm / self._calibration.coil_fast.gain
        return min(CURRENT_LIMIT_MAX, round(2.0 * expected) + SPARE_COUNTS)

    def drive(self, coil_v: float, on_ms: int, *, on: bool = True, diode: bool = False, limit: int = 0) -> Drive:
        """The drive that puts `coil_v` on the coil for at most `on_ms`; both throws fed dry.

        CannotTest when the coil would take more than the supply of the bench can give.
        """
        if self.coil_ohm and self._beyond(coil_v):
            raise CannotTest(
                f"{BEYOND_BENCH}at {coil_v:g} V the coil would take {coil_v / self.coil_ohm * 1000:.0f} mA;"
                f" the supply gives {COIL_MOST_A * 1000:.0f} mA at most"
            )
        if on:
            self._off_since = None
        return Drive(
            dac=self.dac_for(coil_v), on=on, on_ms=on_ms, diode=diode, dry=BOTH, limit=limit or self.trip_limit(coil_v)
        )

    def drive_code(self, dac: int, on_ms: int, limit: int) -> Drive:
        """The drive of one DAC code, for where volts are not known beforehand; both throws fed dry."""
        self._off_since = None
        return Drive(dac=dac, on=True, on_ms=on_ms, dry=BOTH, limit=limit)

    def energise(self, coil_v: float, seconds: float, spare_s: float = 2.0) -> None:
        """Hold `coil_v` for `seconds` (the coil stays on afterwards, for `spare_s` at most)."""
        self.board.hold_coil(self.drive(coil_v, round((seconds + spare_s) * 1000)))
        self.board.wait(seconds)

    def magnetise(self, coil_v: float, seconds: float) -> None:
        """Hold `coil_v` for `seconds`, and see at their end whether it is still the same coil. PartStops if not.

        One that takes nothing is left to the contacts to tell: it may have opened.
        """
        self.energise(coil_v, seconds - SENSE_S)
        amps = self.board.sense_coil().shunt * self._calibration.coil_shunt.gain
        before = self._took_a.get(coil_v, amps)
        if amps < before / 2:
            return
        self._took_a[coil_v] = amps
        if not math.isclose(amps, before, rel_tol=SAME_COIL):
            raise PartStops(
                f"{OTHER_PART}its coil took {before * 1000:.1f} mA at {coil_v:g} V, and now {amps * 1000:.1f} mA"
            )

    def release(self, seconds: float) -> Contact:
        """Coil off; wait until it has been so for `seconds`; the throws that are then closed."""
        self.board.hold_coil(self.drive(0.0, 1000, on=False))
        since = self._off_since
        self.board.wait(seconds if since is None else max(0.0, since + seconds - self.board.elapsed()))
        closed = self.contacts()
        if since is None:
            self._off_since = self.board.elapsed() - seconds
        return closed

    def must_rest(self, closed: Contact) -> None:
        """CannotTest unless these throws, closed with the coil off, are those of a part at rest."""
        if closed & Contact.NO:
            raise CannotTest("NO is closed with the coil off (welded, held, or the socket is bridged)")

    def has_load(self) -> bool:
        """Whether the load supply is there. Raises WrongSupply above 16 V."""
        return load_supply.there(self.board)

    def contacts(self) -> Contact:
        """Throws closed now."""
        return self.board.status().contacts

    def take_zero(self) -> None:
        """With the coil switch open no coil current flows: what the shunt reads then is its zero."""
        self._zero_shunt = reading_noise(self.board.sense_coil().shunt, "coil amps at zero")

    def coil_amps(self, shunt: Any, bus: float) -> Any:
        """Coil amps from shunt counts, plain or with budget; `bus`: counts of the supply's volts at that time."""
        supply_v = nominal_value(self.scales.bus(bus))
        return self.scales.coil_amps(reading_noise(shunt, "coil amps") - self._zero_shunt, supply_v)

    def sense(self) -> CoilPoint:
        """Coil volts and amps now. Volts: supply at the coil's + terminal less the drop below the coil."""
        counts = self.board.sense_coil()
        amps = self.coil_amps(counts.shunt, counts.bus)
        volts = self.scales.bus(reading_noise(counts.bus, "coil volts")) - amps * self.scales.low_side_ohm
        return CoilPoint(volts, amps, counts)

    def learn_setting(self, point: CoilPoint, dac: int) -> None:
        """Learn from one sensed point how many volts a DAC count really is (the 5 V supply is only 5 % exact)."""
        supply_v = nominal_value(point.volts) + nominal_value(point.amps) * self._calibration.low_side_ohm
        expected = (dac - self._calibration.coil_set.zero) * self._calibration.coil_set.gain
        if expected > 1.0 and math.isclose(supply_v, expected, rel_tol=0.15):
            self._set_scale = supply_v / expected

    def conditions(self, **extra: str) -> tuple[Condition, ...]:
        """Conditions that every reading carries, and the named ones."""
        shown = [Condition(name=name.replace("_", " "), text=text) for name, text in extra.items()]
        if self.temperature_c is not None:
            shown.append(
                Condition(
                    name="bench temperature",
                    text=f"{self.temperature_c:.1f} degC",
                    value=self.temperature_c,
                    unit="degC",
                )
            )
        return tuple(shown)


def throws(contacts: Contact, form_c: bool) -> str:
    """Contact state in words: `NO open, NC closed`; a 4-terminal part has NO, or 87a closed in its place."""
    no = "NO closed" if contacts & Contact.NO else "NO open"
    if not form_c and contacts != Contact.NC:
        return no
    return f"{no}, {'NC closed' if contacts & Contact.NC else 'NC open'}"
