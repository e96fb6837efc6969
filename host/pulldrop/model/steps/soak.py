"""Settings of the coil that is held on until it is hot."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, SoakTime, Step


class SoakStep(Step):
    """The coil held on at `coil` volts for `time`, five minutes by custom, to see what warmth does to it."""

    title: ClassVar[str] = "coil held on until hot"
    gives: ClassVar[tuple[str, ...]] = ("coil_resistance_hot", "coil_rise", "pull_in_voltage_85c")

    measure: Literal["soak"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    time: SoakTime = Field(default=300.0, description="how long, such as '300 s'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.coil
