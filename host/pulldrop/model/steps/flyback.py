"""Settings of the coil's spike at switch-off."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, Step


class FlybackStep(Step):
    """How far the coil's low end flies above the supply at switch-off, `makes` times from `coil` volts."""

    title: ClassVar[str] = "spike of the coil"
    gives: ClassVar[tuple[str, ...]] = ("flyback_peak", "flyback_class")

    measure: Literal["flyback"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    makes: int = Field(default=3, ge=3, le=100, description="how many makes, 3 to 100")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.coil
