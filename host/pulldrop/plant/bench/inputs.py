"""Input pins of the Nano: volts at each through the circuit's own resistors, and the level that the chip makes of them.

The firmware may switch on a pull-up inside the chip at every pin; it is part of the network then. Resistors are those
of hardware/circuit.yaml. Chip figures: ATmega328P data sheet, from memory.
"""

from bisect import bisect
from dataclasses import dataclass
from math import log

from pulldrop.plant.noise import Chance

SERIES_OHM, PULL_OHM = 27e3, 220e3
"""R40 and R42 from the terminal to the edge pin; R41 and R43 from 5 V to the pin."""
STOP_PULL_OHM, STOP_OHM, STOP_FARAD = 10e3, 1e3, 100e-9
"""R6 from 5 V to the stop pin, R7 from there to the stop switch, C5 at the pin."""
PULL_UP_OHM = 35e3
"""The chip's own pull-up, 20 to 50 kohm."""
LOW_SHARE, HIGH_SHARE = 0.3, 0.6
"""Shares of the 5 V supply up to which every chip sees low (VIL), and from which every chip sees high (VIH)."""
LEAK_A = 1e-6
"""Most leakage of a digital input, either way."""
ANALOG_LEAK_A = 0.1e-6
"""Leakage of a converter's input at room temperature (assumed; the sheet gives 1 uA at most, for any temperature)."""
LATE_SHARES = (0.30, 0.37, 0.44, 0.52, 0.60)
LATE_US = {
    "closes": (1.85, 1.48, 1.19, 0.93, 0.72),
    "opens": (0.40, 0.57, 0.77, 1.05, 1.40),
    "opens, no load": (2.28, 3.32, 4.75, 7.81, 20.2),
}
"""Microseconds after a contact's edge at which its pin passes these shares of the 5 V: the deck edge_late of
hardware/making/decks/input_pins.py. Without a load supply the dry source must lift the load bus as well."""
SOURCE_OHM = (100.0, 5e3, 2126.0, 4498.0)
"""Before the converter's channels 0 to 3 of the bench: R21; R8 beside TH1; R77 beside R78; R22 beside R23. With the
14 pF of the sampler the slowest of them settles in 0.2 us of the 3 us that it has."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """The input pins of one bench. `falls_at`, `rises_at`: shares of the 5 V supply at which a pin's level turns over;
    `series`, `pull`, `leak_a`: relative errors and leakage at the edge pins of 87 and 87a; `floating_v`: where a
    channel of the converter stands that nothing drives; `stray`, `bus`: what is stray at an edge pin, and what the load
    bus and its gates hold, over what LATE_US was found with."""

    falls_at: float = 0.44
    rises_at: float = 0.52
    pull_up_ohm: float = PULL_UP_OHM
    series: tuple[float, float] = (0.0, 0.0)
    pull: tuple[float, float] = (0.0, 0.0)
    leak_a: tuple[float, float] = (0.0, 0.0)
    analog_leak_a: float = 0.0
    floating_v: float = 0.0
    stray: float = 1.0
    bus: float = 1.0

    def low(self, pin_v: float, was_low: bool, vcc_v: float) -> bool:
        """Whether a pin reads low; between its two thresholds it stays as it was."""
        return pin_v < (self.rises_at if was_low else self.falls_at) * vcc_v

    # --- edge pins ---

    def feed_ohm(self, throw: int, pulled: bool) -> float:
        """From 5 V through the pull-ups and the series resistor to a terminal. `pulled`: the chip's own is on."""
        return self._pull_ohm(throw, pulled) + self.series_ohm(throw)

    def series_ohm(self, throw: int) -> float:
        """R40 or R42."""
        return SERIES_OHM * (1 + self.series[throw])

    def edge_v(self, throw: int, terminal_v: float, pulled: bool, vcc_v: float) -> float:
        """Volts at an edge pin whose terminal stands at `terminal_v`."""
        pull = self._pull_ohm(throw, pulled)
        series = self.series_ohm(throw)
        return (terminal_v * pull + vcc_v * series + self.leak_a[throw] * pull * series) / (pull + series)

    def late_s(self, closes: bool, loaded: bool) -> float:
        """From a contact's edge until its pin's level turns over; `loaded`: the load supply is there."""
        at = self.falls_at if closes else self.rises_at
        late_us = LATE_US["closes" if closes else "opens" if loaded else "opens, no load"]
        upper = min(max(bisect(LATE_SHARES, at), 1), len(LATE_SHARES) - 1)
        (x0, x1), (y0, y1) = LATE_SHARES[upper - 1 : upper + 1], late_us[upper - 1 : upper + 1]
        return (y0 + (y1 - y0) * (at - x0) / (x1 - x0)) * 1e-6 * (self.stray if closes or loaded else self.bus)

    def _pull_ohm(self, throw: int, pulled: bool) -> float:
        ohm = PULL_OHM * (1 + self.pull[throw])
        return 1 / (1 / ohm + 1 / self.pull_up_ohm) if pulled else ohm

    # --- emergency stop ---

    def stop_v(self, is_open: bool, pulled: bool, vcc_v: float) -> float:
        """Volts at the stop pin once C5 is charged: switch open, or closed to ground."""
        return vcc_v if is_open else vcc_v * STOP_OHM / (STOP_OHM + self._stop_pull_ohm(pulled))

    def stop_s(self, opens: bool, pulled: bool, vcc_v: float) -> float:
        """Seconds from the switch until the pin's level turns over, C5 charged or discharged on the way."""
        ohm = self._stop_pull_ohm(pulled)
        came_from, goes_to = (self.stop_v(opened, pulled, vcc_v) for opened in (not opens, opens))
        turns_at = (self.rises_at if opens else self.falls_at) * vcc_v
        through = ohm if opens else 1 / (1 / ohm + 1 / STOP_OHM)
        return through * STOP_FARAD * log((goes_to - came_from) / (goes_to - turns_at))

    def _stop_pull_ohm(self, pulled: bool) -> float:
        return 1 / (1 / STOP_PULL_OHM + 1 / self.pull_up_ohm) if pulled else STOP_PULL_OHM

    # --- converter ---

    def analog_v(self, channel: int) -> float:
        """By how much leakage lifts a channel of the converter, in volts."""
        return self.analog_leak_a * SOURCE_OHM[channel]


def drawn(seed: int | None) -> Inputs:
    """One bench's chip and resistors: thresholds anywhere between VIL and VIH with 0.1 to 0.5 V of hysteresis (typical
    0.4 V), pull-ups of 20 to 50 kohm, resistors of 1 %, leakage up to the maker's limit; 20 to 100 pF stray
    at a pin, 3 to 12 nF at the load bus, 7 to 15 nF at each gate of its transistors (assumed; LATE_US has 50 pF, 6 and
    10 nF)."""
    if seed is None:
        return Inputs()
    chance = Chance(seed ^ 0x1A9B7)
    w = chance.within
    hysteresis = 0.06 + w(0.04)
    room = HIGH_SHARE - LOW_SHARE - hysteresis
    falls_at = LOW_SHARE + room * chance.uniform()
    return Inputs(
        falls_at=falls_at,
        rises_at=falls_at + hysteresis,
        pull_up_ohm=PULL_UP_OHM + w(15e3),
        series=(w(0.01), w(0.01)),
        pull=(w(0.01), w(0.01)),
        leak_a=(w(LEAK_A), w(LEAK_A)),
        analog_leak_a=w(ANALOG_LEAK_A),
        floating_v=5.0 * chance.uniform(),
        stray=1.2 + w(0.8),
        bus=1.15 + w(0.6),
    )
