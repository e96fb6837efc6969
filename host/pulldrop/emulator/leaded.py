"""The emulated bare board with the vehicle lead: the same firmware and chip, and a vehicle behind its converter."""

from collections.abc import Iterable

from pulldrop.emulator.machine import GRID, TEMPERATURE, Machine
from pulldrop.emulator.memory import SERIAL
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.plant.bench.leaded import CHANNELS, GROUND, LeadBench
from pulldrop.plant.vehicle.lead import OWN_V
from pulldrop.plant.vehicle.vehicle import Vehicle


class LeadMachine(Machine):
    """The volts of the five clips come as waves: nothing that the board does changes them."""

    plant: LeadBench

    def _asked(self) -> Iterable[int]:
        return (TEMPERATURE,)

    def _run_ahead(self, end: int) -> int:
        start = self.chip.cycle
        super()._run_ahead(end)
        count = 0 if self.plant.lead.steady(start / self._hz, end / self._hz) else max(1, (end - start) // GRID)
        moments = [(start + i * GRID) / self._hz for i in range(count + 1)]
        for channel, clip in CHANNELS.items():
            share = OWN_V / self.plant.lead.own_v if channel == GROUND else self._to_reference
            self.chip.set_wave(channel, start, GRID, [self.plant.input_v(clip, at) * share for at in moments])
        return end


class LeadPort(SteppedPort):
    """As SteppedPort, of a bare board whose lead is on `vehicle`."""

    MACHINE = LeadMachine
    machine: LeadMachine

    def __init__(self, vehicle: Vehicle, seed: int | None, serial: int = SERIAL) -> None:
        self._start(LeadBench(vehicle, seed), serial, bare=True)
