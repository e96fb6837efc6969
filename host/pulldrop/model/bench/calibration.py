"""From counts to volts, amps and seconds: the gain of each channel, and how well it is known."""

import math
from datetime import datetime, timedelta

from pydantic import Field

from pulldrop.model.bench.abilities import Build
from pulldrop.model.coverage import Shape
from pulldrop.model.raw import TICKS_PER_S, Frozen, OneLine

COIL_LEADS, COIL_COMMON = "coil leads", "coil amps common mode"
MET_AGAIN = (COIL_LEADS, COIL_COMMON)
"""Causes in one channel of a calibration that a reading meets again by this name: their difference counts there."""


SEAT_OHM = 0.03e-3
"""By which a clip differs from seating to seating, either way, before anybody looked (assumed)."""


class Share(Frozen):
    """A cause that acts on several channels in the same sense, such as one converter; one name is one cause.

    `u` is its relative standard uncertainty in this channel's gain.
    """

    name: OneLine
    u: float = Field(ge=0)
    why: OneLine
    shape: Shape = "normal"


class Channel(Frozen):
    """`value = (counts - zero) * gain`; `u_gain` relative, `u_zero` in counts, both standard uncertainties.

    `shape`: how these two are distributed.
    `shares` are further, named causes of the gain's uncertainty, which other channels may have as well.
    """

    gain: float
    zero: float = 0.0
    u_gain: float = Field(ge=0)
    u_zero: float = Field(ge=0)
    why: OneLine
    shares: tuple[Share, ...] = ()
    shape: Shape = "normal"

    def value(self, counts: float) -> float:
        """Counts to the channel's unit."""
        return (counts - self.zero) * self.gain


class Clips(Frozen):
    """What blades and clips of the socket add between the sense points, in ohms, for each throw.

    Not read: 0.2 +-0.1 mohm (assumed). `shape` as in Channel. `u_seat_ohm`: by which a part's seating differs from the
    link's, as a standard uncertainty: with `seat_freedom` degrees of freedom as seatings of a link showed it, with none
    +-0.03 mohm of the part's seating alone (assumed).
    """

    no_ohm: float = 0.2e-3
    nc_ohm: float = 0.2e-3
    u_ohm: float = Field(default=0.1e-3 / 3**0.5, ge=0)
    shape: Shape = "rectangular"
    u_seat_ohm: float = Field(default=SEAT_OHM / 3**0.5, ge=0)
    seat_freedom: float = Field(default=0.0, ge=0)


class Calibration(Frozen):
    """Every constant of one bench. `taken_at` is None for the nominal one: uncalibrated, wide uncertainty.

    coil_set: volts per DAC count; coil_bus: volts; coil_shunt: amps; coil_fast: amps per ADC count;
    low_side: ohms between coil and ground; drop: volts at gain code 5; load: amps at gain code 5;
    tick: seconds; temperature: added to what the sensor says, and its standard uncertainty, in kelvin.
    A simulated bench has its own kind of calibration, which no real board may use.
    """

    name: OneLine
    taken_at: datetime | None
    board_serial: int
    coil_set: Channel
    coil_bus: Channel
    coil_shunt: Channel
    coil_fast: Channel
    low_side_ohm: float
    u_low_side_ohm: float
    drop: Channel
    load: Channel
    tick: Channel
    u_temperature_k: float
    temperature_offset_k: float = 0.0
    clips: Clips = Clips()
    simulated: bool = False

    @property
    def calibrated(self) -> bool:
        """False for nominal values."""
        return self.taken_at is not None

    def old(self, at: datetime) -> bool:
        """True when it was taken longer ago than it is good for."""
        return self.taken_at is not None and at - self.taken_at > GOOD_FOR


GOOD_FOR = timedelta(days=365)
"""A year, the time for which makers of multimeters and of converters state their accuracy and drift (common
practice): after it neither the references nor the bench are what they were."""


ROOT3 = 3**0.5
"""A maker's limit of +-a taken as a rectangular distribution has the standard uncertainty a / sqrt(3) (GUM 4.3.7)."""


SENSOR_U_K = math.hypot(0.226, 0.226, 0.22, 0.1) / ROOT3
"""The bench's temperature sensor: thermistor 1 % and its resistor 1 % (0.226 K each at 4.43 %/K), converter 2.5 counts
of 11.3 a kelvin (ATmega328P data sheet), warmed by its own 0.6 mW by up to 0.1 K (assumed)."""


ADS_ZERO_COUNTS = 24.0
"""Zero of the contact converter, in counts of 7.8 uV: its maker's limit is 3 counts at +-2.048 V, 188 uV, with none
for the finer ranges (ADS1115 data sheet, from memory). A shorting link brings it down (calibrate)."""


EVENING_FAST = Channel(
    gain=4.875 / 1024 / (0.82 * 20.1),
    u_gain=0.0935 / ROOT3,
    u_zero=3.7 / ROOT3,
    why="0.82 ohm 1 %, gain of two resistors 1.4 %, MCP617 0.15 mV, converter 3 counts at 500 kHz, 5 V of USB 7.7 %",
    shape="rectangular",
)


def nominal(board_serial: int, build: Build = "full") -> Calibration:
    """The calibration of a bench that nobody calibrated: part values and makers' limits, taken as rectangular."""
    full = _nominal(board_serial)
    return full.model_copy(update={"coil_fast": EVENING_FAST}) if build == "evening" else full


def _nominal(board_serial: int) -> Calibration:
    """Of the full build."""
    return Calibration(
        name="uncalibrated",
        taken_at=None,
        board_serial=board_serial,
        coil_set=Channel(
            gain=5.0 * 6.0 / 4096,
            u_gain=0.05 / ROOT3,
            u_zero=31 / ROOT3,
            why="5 V supply 5 %, gain of 6, MCP4725 zero",
            shape="rectangular",
        ),
        coil_bus=Channel(
            gain=1.25e-3, u_gain=0.001 / ROOT3, u_zero=6 / ROOT3, why="INA226 bus: 0.1 %, 7.5 mV", shape="rectangular"
        ),
        coil_shunt=Channel(
            gain=2.5e-6 / 0.1,
            u_gain=0.0101 / ROOT3,
            u_zero=4 / ROOT3,
            why="0.1 ohm 1 %, INA226 0.1 %, 10 uV",
            shape="rectangular",
        ),
        coil_fast=Channel(
            gain=5.0 / 1024 / (0.82 * 20),
            u_gain=0.052 / ROOT3,
            u_zero=3.7 / ROOT3,
            why="0.82 ohm 1 %, INA180 1 % and 0.5 mV, converter 3 counts at 500 kHz, 5 V 5 %",
            shape="rectangular",
        ),
        low_side_ohm=0.87,
        u_low_side_ohm=0.05 / ROOT3,
        drop=Channel(
            gain=0.256 / 32768,
            u_gain=0.0032 / ROOT3,
            u_zero=ADS_ZERO_COUNTS / ROOT3,
            why="ADS1115: 0.15 %, 188 uV; 0.16 % lost in the series resistors, not corrected (GUM F.2.4.5)",
            shape="rectangular",
        ),
        load=Channel(
            gain=0.256 / 32768 / 0.005,
            u_gain=0.0101 / ROOT3,
            u_zero=ADS_ZERO_COUNTS / ROOT3,
            why="5 mohm 1 %, ADS1115 0.15 %, 188 uV",
            shape="rectangular",
        ),
        tick=Channel(
            gain=1.0 / TICKS_PER_S, u_gain=0.005 / ROOT3, u_zero=0.5, why="ceramic resonator 0.5 %", shape="rectangular"
        ),
        u_temperature_k=SENSOR_U_K,
    )
