"""What a bench was held to: the references of a calibration with their stated accuracy, and the record of it."""

import math
from datetime import datetime

from pydantic import Field

from pulldrop.model.bench.calibration import ROOT3, Calibration
from pulldrop.model.bench.identity import Identity, OfBoard
from pulldrop.model.origin import Arrived
from pulldrop.model.raw import Frozen, OneLine

LEAST_VOLTS, LEAST_OHMS = 1e-4, 0.1
"""One digit of a hand-held multimeter's lowest ranges (common practice)."""


class Meter(Frozen):
    """A multimeter's accuracy as its sheet states it: percent of reading plus digits, for a display of `counts`.

    The defaults are those of a cheap hand-held one of 2000 counts (common practice).
    """

    counts: int = Field(default=2000, ge=1000, le=1_000_000, description="counts of its display, such as 2000 or 6000")
    volts_percent: float = Field(default=0.5, gt=0, le=5, description="DC volts, percent of reading")
    ohms_percent: float = Field(default=0.8, gt=0, le=5, description="resistance, percent of reading")
    digits: float = Field(default=3.0, ge=0.5, le=50, description="and this many digits on top")

    def digits_v(self, volts: float) -> float:
        """The digits of the accuracy in volts, in the range that shows `volts` best."""
        return self.digits * self._step(volts, LEAST_VOLTS)

    def limit_v(self, volts: float) -> float:
        """The whole accuracy at a reading, in volts."""
        return abs(volts) * self.volts_percent / 100 + self.digits_v(volts)

    def limit_ohm(self, ohm: float) -> float:
        """The same for a resistance, in ohms."""
        return abs(ohm) * self.ohms_percent / 100 + self.digits * self._step(ohm, LEAST_OHMS)

    def _step(self, value: float, least: float) -> float:
        if abs(value) <= least * self.counts:
            return least
        return float(10.0 ** math.ceil(math.log10(abs(value) / self.counts) - 1e-9))


class Reference(Frozen):
    """A resistor: what it is taken for, and its standard uncertainty, in ohms; `how` says where that is from."""

    ohm: float = Field(gt=0)
    u_ohm: float = Field(gt=0)
    how: OneLine

    @classmethod
    def printed(cls, ohm: float, percent: float) -> "Reference":
        """A resistor known by its printed value and tolerance, taken as rectangular."""
        return cls(ohm=ohm, u_ohm=ohm * percent / 100 / ROOT3, how=f"{ohm:g} ohm +-{percent:g} % as printed")

    @classmethod
    def measured(cls, ohm: float, meter: Meter) -> "Reference":
        """A resistor measured by the multimeter, less its leads."""
        return cls(ohm=ohm, u_ohm=meter.limit_ohm(ohm) / ROOT3, how=f"{ohm:g} ohm by the multimeter")


class VoltsPoint(Frozen):
    """Coil supply set by `dac`, nothing drawn: mean bus counts, and the multimeter at the coil terminals."""

    dac: int
    bus: float
    meter_v: float


class AmpsPoint(Frozen):
    """The reference resistor between the coil terminals: mean counts of bus, shunt, and fast converter."""

    bus: float
    shunt: float
    fast: float


class LowPoint(Frozen):
    """The same resistor, and the multimeter between coil - and ground."""

    bus: float
    shunt: float
    meter_v: float


class ContactPoint(Frozen):
    """The low resistor between 30 and 87 under load: mean counts, and the range code of the drop."""

    drop: float
    shunt: float
    gain: int


class Observed(Frozen):
    """Everything that was read during a calibration, raw. What was left out is empty: data sheets stand in for it.

    `shunt_zero` and `contact_zero` in counts; `contact_zero` is that of the drop, then that of the load shunt.
    `links`: the shorting link under load in NO, then in NC, its drop less what it shows without load; `seatings`: the
    same in NO, each time seated anew.
    `cut_ms`: when the hardware's pulse limit cut the load through NO, then through NC. `stopped`: the emergency stop
    was pressed, and both supplies were seen dead. `clock`: seconds by the board, then by the computer. `temperature`:
    degC by the bench, then by the thermometer.
    """

    volts: tuple[VoltsPoint, ...] = ()
    shunt_zero: float = 0.0
    resistor: Reference | None = None
    amps: tuple[AmpsPoint, ...] = ()
    low_side: LowPoint | None = None
    contact_zero: tuple[float, float] | None = None
    links: tuple[ContactPoint, ContactPoint] | None = None
    seatings: tuple[ContactPoint, ...] = ()
    contact_resistor: Reference | None = None
    contact: ContactPoint | None = None
    temperature: tuple[float, float, float] | None = Field(
        default=None, description="degC by the bench, degC by the thermometer, accuracy of the thermometer in kelvin"
    )
    clock: tuple[float, float] | None = None
    cut_ms: tuple[int, int] | None = None
    stopped: bool = False


class CalibrationRecord(OfBoard):
    """One calibration as it is kept: what came of it, and all that it came from. Never overwritten."""

    calibration: Calibration
    board: Identity
    meter: Meter
    observed: Observed
    left_out: tuple[str, ...]
    refused: tuple[str, ...]
    software: OneLine
    operator: OneLine = ""
    arrived: Arrived | None = None


class Golden(Frozen):
    """A part by which the bench is checked: its readings in `run` are what later ones are compared with."""

    part: str
    run: str
    marked: datetime
