"""The emulated evening build: the same firmware and chip, two parts on its bus, and the plant of its bench."""

from pulldrop.emulator.i2c_parts import EVENING_ADS1115, INA226, Ads1115, Ina226
from pulldrop.emulator.machine import Machine
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.plant.bench.evening import EveningBench


class EveningMachine(Machine):
    """Converter of the contacts with its address pin at SCL, and the coil's; no DAC, no scan."""

    plant: EveningBench

    def _fit_parts(self) -> None:
        self.parts = {EVENING_ADS1115: Ads1115(self.chip, 0, EVENING_ADS1115), INA226: Ina226(self.chip, 1)}

    @property
    def _dac_code(self) -> int:
        return 0


class EveningPort(SteppedPort):
    """As SteppedPort, of an evening build."""

    BENCH, MACHINE = EveningBench, EveningMachine
    machine: EveningMachine
