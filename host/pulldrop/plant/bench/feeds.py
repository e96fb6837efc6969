"""What feeds the socket: coil supply, load supply with its branches, dry sources, after pins, stop and pulse limit.

Rule: what flows through the part from here is `socket.py`'s.
"""

from math import log

from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench.pins import Pins

DRY_OHM = 1025.0
"""1 kohm, and 25 ohm of the pin that feeds it (ATmega328P data sheet, figure of pin driver strength)."""
THROW_OHM = 0.02
"""The throw's MOSFET and its wiring (assumed)."""

RAIL_V = 20.0
"""What the coil supply is fed with, for 12 V parts."""

LIMIT_OHM, LIMIT_F = 1.1e6, 470e-9
"""R76 and C40 of the pulse limit in hardware."""
LIMIT_SHARE = (5.0 * 2 / 3) / (5.0 - 0.45)
"""The timer's threshold over what the capacitor is charged to: 5 V less a diode at 40 uA."""
LIMIT_S = -LIMIT_OHM * LIMIT_F * log(1 - LIMIT_SHARE)
"""After so long the throws' gates are cut, 0.68 s by the parts' nominal values; they stay so while the pin is high."""


class Feeds:
    """Of one bench, whose parts are drawn from `seed`; nothing is on."""

    def __init__(self, seed: int | None) -> None:
        self.frontend = self.drawn(seed)
        self.time_s = 0.0
        self.stop_pressed = False
        self.pins = self._arrived = Pins()
        self._throws_since = 0.0

    @staticmethod
    def drawn(seed: int | None) -> fe.Frontend:
        """The front end's parts, from the seed."""
        return fe.drawn(seed)

    def _arriving(self, pins: Pins) -> Pins:
        """What arrives of the levels that the board drives."""
        return pins

    @property
    def stop_open(self) -> bool:
        """Whether the board's stop input reads open."""
        return self.stop_pressed

    @property
    def coil_rail_v(self) -> float:
        """The rail of the coil supply, 20 V where it is fed."""
        return RAIL_V if self._coil_fed else 0.0

    @property
    def _coil_fed(self) -> bool:
        return not self.stop_pressed

    @property
    def coil_supply_v(self) -> float:
        """Volts of the coil supply, at terminal 86: those of its DAC while the lamp is lit."""
        return self.frontend.coil_v(self._arrived.dac) if self._coil_fed and self._arrived.lamp else 0.0

    @property
    def dry_ohm(self) -> float:
        """Of a dry source, with its pin."""
        return DRY_OHM

    @property
    def _branches(self) -> int:
        """Bits of the branches that conduct."""
        return self._arrived.branches

    @property
    def _throws(self) -> int:
        """Bits of the throw transistors that conduct."""
        return self._arrived.throws if self.time_s - self._throws_since < LIMIT_S else 0

    @property
    def _load_v(self) -> float:
        """The load supply behind the main relay."""
        return 0.0 if self.stop_pressed else self.frontend.load_supply_v

    def _load_siemens(self) -> float:
        branches = sum(
            1 / (ohm * (1 + error))
            for bit, (ohm, error) in enumerate(zip(fe.BRANCH_OHM, self.frontend.branches, strict=True))
            if self._branches & 1 << bit
        )
        return 1 / (1 / branches + THROW_OHM)
