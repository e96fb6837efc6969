"""A bare bench whose Nano has the vehicle lead in place of the relay socket's wires.

Rule: only what the converter sees of the lead; where its clips are is `plant/vehicle/lead`'s.
"""

from dataclasses import replace

from pulldrop.plant.bench import frontend as fe
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.noise import Chance
from pulldrop.plant.specimen import Faults, Specimen
from pulldrop.plant.vehicle.lead import Lead
from pulldrop.plant.vehicle.vehicle import Vehicle

NOTHING = Specimen(title="no socket", form="A", faults=Faults(coil_open=True, stuck="at rest"))
VCC, VCC_ROOM = -0.025, 0.075
"""5 V of the USB port through the Nano: 4.5 to 5.25 V."""
CHANNELS = {0: 0, 2: 1, 3: 2, 6: 3, 7: 4}
"""Converter channels with the clip on each, X1 as 0 (hardware/pins.yaml, bare)."""

GROUND = 7
"""Channel of X5, which is converted on the chip's own reference."""


class LeadBench(Bench):
    """`seed` as for Bench; the lead's parts are drawn from it too."""

    def __init__(self, vehicle: Vehicle, seed: int | None) -> None:
        super().__init__(NOTHING, seed)
        self.lead = Lead(vehicle, seed)

    @staticmethod
    def drawn(seed: int | None) -> fe.Frontend:
        """As of any Nano, on the 5 V of its USB port."""
        vcc = VCC if seed is None else VCC + Chance(seed ^ 0xE7E).within(VCC_ROOM)
        return replace(fe.drawn(seed), vcc=vcc)

    def input_v(self, clip: int, time_s: float) -> float:
        """Volts of X1 (0) to X5 (4) as the converter takes them, without noise: its zero and bow are counts, of 5 V or,
        for X5, of its own reference."""
        volts, front = self.lead.converted_v(clip, time_s), self.frontend
        share = self.lead.own_v / front.vcc_v if clip == CHANNELS[GROUND] else 1.0
        return volts + front.adc_error_v(volts / share, 0.0) * share

    def input_counts(self, volts: float, reference_v: float) -> int:
        """One conversion, with its noise."""
        noise = self.frontend.conversion_noise_v * self._chance.normal() if self.frontend.noise else 0.0
        counts = int((max(volts, 0.0) + noise * reference_v / fe.ADC_V) / reference_v * fe.ADC_STEPS)
        return min(max(counts, 0), fe.ADC_STEPS - 1)
