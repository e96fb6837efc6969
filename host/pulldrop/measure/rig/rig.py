"""A board and its calibration together: volts in, values with budgets out; no plan and no part is needed.

Rule: procedures ask this, not the board, for anything in volts or amps.
"""

import math
from dataclasses import dataclass
from statistics import fmean
from typing import Any, Self

from pulldrop.board import steady
from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import Tripped, WireTrouble, WrongSupply
from pulldrop.board.request_types import CURRENT_LIMIT_MAX, DAC_MAX, Analog, Drive
from pulldrop.measure.rig import load_supply
from pulldrop.measure.rig.counts import temperature
from pulldrop.measure.rig.counts.budget import BUS_INPUT_S, ChannelScales, nominal_value, reading_noise
from pulldrop.measure.rig.counts.channels import LOW_SIDE_GAIN, LOW_SIDE_OHM, SUM
from pulldrop.model.bench.calibration import Calibration, nominal
from pulldrop.model.raw import CoilCounts, Contact, PulseCounts
from pulldrop.model.reading import Because, Condition, ConditionName

SPARE_COUNTS = 30
"""By how many counts of the fast converter (9 mA) an over-current limit lies above the share that it is made of."""
ZERO_S, OFF_V, OFF_A = 0.02, 1.0, 0.03
"""What the coil supply set to 0 gives at most, and the fast converter reads with the coil off: several times their
zeros (hardware/channel_errors.yaml)."""
FED_V = 9.5
"""What a supply that nobody can set gives an open coil switch at least: a battery of 10.5 V, less a diode."""
UNREAD_SHARE, UNREAD_V, HELD_A = 0.5, 0.27, 0.001
"""Below this share of what was set, less what the supply may be off at zero, its volts are not read; if amps flow."""
BOTH = Contact.NO | Contact.NC


class CannotTest(Exception):
    """This measurement cannot be made; the message is the reason, `because` its kind. Later steps still run."""

    def __init__(self, message: str, because: Because = "part") -> None:
        super().__init__(message)
        self.because = because


class PartStops(CannotTest):
    """The part allows no further step at all."""


@dataclass(frozen=True, slots=True)
class CoilPoint:
    """Coil volts and amps at one moment, each with its budget, and the counts that they came from."""

    volts: Any
    amps: Any
    counts: CoilCounts

    @property
    def v(self) -> float:
        """Volts, a plain number."""
        return nominal_value(self.volts)

    @property
    def a(self) -> float:
        """Amps, a plain number."""
        return nominal_value(self.amps)


class Rig:
    """One board and its calibration. While nothing is known of a coil, its volts are the supply's."""

    def __init__(self, board: Board, calibration: Calibration) -> None:
        self.board, self.calibration = board, calibration
        self.scales = ChannelScales(calibration)
        self.temperature_c: float | None = None
        self.disagreed = False
        """Whether pin and converter once showed a throw in different states."""
        self._zero_shunt: Any = 0
        self._set_scale = 1.0
        self.able = board.identity.able
        self._supply_v = self.able.supply_v
        self._off_since: float | None = None

    # --- the bench ---

    @classmethod
    def uncalibrated(cls, board: Board) -> Self:
        """With nominal values, for what needs no exact volts."""
        return cls(board, nominal(board.identity.serial, board.identity.build))

    @property
    def bare(self) -> bool:
        """Whether it has neither coil supply nor load."""
        return self.able.coil == "none"

    def read_temperature(self) -> float | None:
        """The bench's, in degC, kept for what follows; None when the sensor does not read."""
        total = self.board.sense_analog(Analog.BENCH_TEMPERATURE)
        self.temperature_c = temperature.from_sum(total, self.calibration.temperature_offset_k)
        return self.temperature_c

    def temperature(self) -> Any:
        """Bench temperature in degC with its budget; CannotTest when the sensor does not read."""
        if self.temperature_c is None:
            raise CannotTest("the bench's temperature sensor does not read, so nothing can be brought to 20 degC")
        return self.temperature_c + self.scales.temperature_k

    def conditions(self, **extra: str | Condition) -> tuple[Condition, ...]:
        """Conditions that every reading carries, and the named ones; with a number where they have one."""
        shown = [
            Condition(name=name.replace("_", " "), text=told)
            if isinstance(told, str)
            else told.model_copy(update={"name": name.replace("_", " ")})
            for name, told in extra.items()
        ]
        if self.temperature_c is not None:
            shown.append(
                Condition(
                    name=ConditionName.BENCH_TEMPERATURE,
                    text=f"{self.temperature_c:.1f} degC",
                    value=self.temperature_c,
                    unit="degC",
                )
            )
        return tuple(shown)

    def load_a(self, counts: PulseCounts) -> float:
        """Load amps of a pulse, the mean of its samples as a plain number."""
        return nominal_value(self.scales.load(fmean(counts.shunt)))

    def has_load(self) -> bool:
        """Whether the load supply is there. Raises WrongSupply above 16 V, and where it has gone since the opening."""
        return load_supply.there(self.board)

    def off(self) -> None:
        """Everything off, at once."""
        self.board.off()

    def wait(self, seconds: float) -> None:
        """Let bench time pass, the lease renewed."""
        self.board.wait(seconds)

    def acknowledge(self) -> None:
        """Clear a latched trip, after its cause is understood."""
        self.board.acknowledge()

    def forget_old_trip(self) -> None:
        """Clear what turned everything off before this host's first step; an open stop still counts."""
        status = self.board.status()
        if status.trip is not Trip.NONE and not status.emergency_stop:
            self.acknowledge()

    # --- volts, and the limits that go with them ---

    def dac_for(self, volts: float) -> int:
        """DAC code that gives `volts`; of a supply that nobody can set, all or nothing."""
        if self.able.coil == "by hand":
            return DAC_MAX if volts > 0 else 0
        code = round(volts / (self.calibration.coil_set.gain * self._set_scale) + self.calibration.coil_set.zero)
        return min(max(code, 0), DAC_MAX)

    def volts_at(self, dac: int) -> float:
        """Volts that a DAC code gives, the inverse of `dac_for`."""
        if self.able.coil == "by hand":
            return self._supply_v if dac else 0.0
        return self.calibration.coil_set.value(dac) * self._set_scale

    @property
    def volts_per_count(self) -> float:
        """Volts per DAC count; 0 of a supply that nobody can set."""
        if self.able.coil == "by hand":
            return 0.0
        return self.volts_at(1) - self.volts_at(0)

    def learn_setting(self, point: CoilPoint, dac: int) -> None:
        """Learn from one sensed point how many volts a DAC count really is (the 5 V supply is only 5 % exact)."""
        self.learn_supply(point.v + point.a * self.calibration.low_side_ohm, dac)

    def learn_supply(self, supply_v: float, dac: int) -> None:
        """The same from volts of the supply."""
        if self.able.coil == "by hand":
            self._supply_v = supply_v
            return
        expected = self.calibration.coil_set.value(dac)
        if expected > 1.0 and math.isclose(supply_v, expected, rel_tol=0.15):
            self._set_scale = supply_v / expected

    @property
    def amps_per_count(self) -> float:
        """Coil amps per count of the fast converter, by which the board limits them."""
        return self.calibration.coil_fast.gain

    def limit_for(self, amps: float, spare: int = SPARE_COUNTS) -> int:
        """Over-current limit in ADC counts for `amps`, and a little more."""
        return min(CURRENT_LIMIT_MAX, round(amps / self.amps_per_count) + spare)

    def trip_limit(self, _volts: float) -> int:
        """Over-current limit in ADC counts for a coil at these volts: the highest while nothing is known of it."""
        return CURRENT_LIMIT_MAX

    def refuse_beyond(self, _volts: float) -> None:
        """CannotTest for volts that the supply cannot give to a known coil."""

    # --- the coil ---

    def drive(self, volts: float, on_ms: int = 1000, *, on: bool = True, diode: bool = False, limit: int = 0) -> Drive:
        """The drive that puts `volts` on the coil for at most `on_ms`; both throws fed dry."""
        self.refuse_beyond(volts)
        if on:
            self._off_since = None
        return Drive(self.dac_for(volts), on, on_ms, diode, limit=limit or self.trip_limit(volts))

    def hold(self, drive: Drive, seconds: float) -> None:
        """Drive the coil so, and let `seconds` pass."""
        if drive.on:
            self._off_since = None
        self.board.hold_coil(drive)
        self.board.wait(seconds)

    def tried(self, drive: Drive, seconds: float) -> CoilPoint | None:
        """The coil so driven, after `seconds`; None where it took more than the drive's limit. The trip is cleared."""
        try:
            self.hold(drive, seconds)
            point = self.sense()
            self.must_read_volts(point, self.volts_at(drive.dac))
            return point
        except Tripped as tripped:
            if tripped.trip is not Trip.OVER_CURRENT:
                raise
        self.acknowledge()
        return None

    def must_read_volts(self, point: CoilPoint, at: float) -> None:
        """Raises WireTrouble where current flows, and the converter shows none of the volts that drive it."""
        if point.a > HELD_A and point.v < UNREAD_SHARE * at - UNREAD_V:
            self.off()
            raise WireTrouble(
                f"{1000 * point.a:.1f} mA flow through the coil, though its supply reads {point.v:.2f} of {at:.2f} V:"
                " the wire to VBUS of U5 is broken. Mend it, then run the self-test."
            )

    def energise(self, volts: float, seconds: float, spare_s: float = 2.0) -> None:
        """Hold `volts` for `seconds` (the coil stays on afterwards, for `spare_s` at most)."""
        self.hold(self.drive(volts, round((seconds + spare_s) * 1000)), seconds)

    def release(self, seconds: float) -> Contact:
        """Coil off; wait until it has been so for `seconds`; the throws that are then closed."""
        self.board.hold_coil(self.drive(0.0, on=False))
        since = self._off_since
        self.board.wait(seconds if since is None else max(0.0, since + seconds - self.board.elapsed()))
        closed = self.contacts()
        if since is None:
            self._off_since = self.board.elapsed() - seconds
        return closed

    def seen_at_rest(self, seconds: float) -> Contact:
        """Coil off and both throws fed for `seconds`, whatever was before; those that are then closed."""
        self.hold(self.drive(0.0, on=False), seconds)
        return self.contacts()

    def contacts(self, throws: Contact = BOTH) -> Contact:
        """Throws closed now. Raises as `steady.contacts`."""
        return steady.contacts(self.board, throws)

    def take_zero(self, dry: Contact = BOTH) -> None:
        """With the coil switch open no coil current flows: what the shunt reads then is its zero. One count of the DAC
        lets the coil supply on, which the dark lamp would hold at 0 whatever it is told; a supply that nobody can set
        is let on as it is. `dry`: throws fed meanwhile.

        Raises WireTrouble where the coil supply, set to 0, gives volts, or the fast converter sees a current,
        WrongSupply where one that nobody can set gives too few, and as `must_be_supplied`.
        """
        by_hand = self.able.coil == "by hand"
        self.hold(Drive(DAC_MAX if by_hand else 1, on=False, on_ms=1000, dry=dry), ZERO_S)
        counts = self.board.sense_coil()
        volts = self.supply_v(counts.bus)
        if by_hand and volts < FED_V:
            self.must_be_supplied()
            self.off()
            raise WrongSupply(
                f"The coil's supply at 86 reads {volts:.1f} V, and a part needs {FED_V:g} V. Set the switch S4 to"
                " 'supply'. If it is: F1 may be hot (wait a minute), or K1 has not closed (stop, battery, fuse)."
            )
        if volts > OFF_V and not by_hand:
            raise WireTrouble(
                f"The coil supply gives {volts:.1f} V though it is set to 0: a wire of U4 or of its feedback is broken."
                " Unplug the coil supply and mend it, then run the self-test."
            )
        fast_a = self.calibration.coil_fast.value(self.board.sense_analog(Analog.COIL_CURRENT) / SUM)
        if fast_a > OFF_A:
            raise WireTrouble(
                f"The fast converter reads {1000 * fast_a:.0f} mA with the coil switched off: a wire of U6 is broken,"
                " or coil_current touches its neighbour. Mend it, then run the self-test."
            )
        self.must_be_supplied()
        drawn_a = 0.0
        if by_hand:  # through the coil as well: its open low end stands at the supply, and a divider hangs on it
            low_v = self.board.sense_analog(Analog.COIL_LOW_SIDE) / SUM * LOW_SIDE_GAIN
            drawn_a = volts * BUS_INPUT_S + low_v / LOW_SIDE_OHM
        self._zero_shunt = reading_noise(counts.shunt - drawn_a / self.calibration.coil_shunt.gain, "coil amps at zero")

    def must_be_supplied(self) -> None:
        """Raises TooLate where the coil supply is held at 0 again: what was read last is no reading of it."""
        if not self.board.status().supplied:
            self.off()
            raise steady.too_late("the coil supply")

    def coil_amps(self, shunt: Any, bus: float) -> Any:
        """Coil amps from shunt counts, plain or with budget; `bus`: counts of the supply's volts at that time."""
        return self.scales.coil_amps(reading_noise(shunt, "coil amps") - self._zero_shunt, self.supply_v(bus))

    def supply_v(self, bus: float) -> float:
        """Volts of the coil supply from counts of its bus, a plain number."""
        return nominal_value(self.scales.bus(bus))

    def sense(self) -> CoilPoint:
        """Coil volts and amps now. Volts: supply at the coil's + terminal less the drop below the coil."""
        counts = self.board.sense_coil()
        amps = self.coil_amps(counts.shunt, counts.bus)
        volts = self.scales.bus(reading_noise(counts.bus, "coil volts")) - amps * self.scales.low_side_ohm
        return CoilPoint(volts, amps, counts)
