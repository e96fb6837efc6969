"""Settings of the first probe of the coil, at half a volt."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import ProbeVolts, Step


class ProbeStep(Step):
    """The coil at half a volt, before anything else: a short shows here, a reversed diode only at the coil step."""

    title: ClassVar[str] = "coil at half a volt"
    gives: ClassVar[tuple[str, ...]] = ("coil_resistance_low",)
    sets_coil: ClassVar[bool] = True

    measure: Literal["probe"]
    at: ProbeVolts = Field(default=0.5, description="coil voltage below that of a diode, such as '500 mV'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.at
