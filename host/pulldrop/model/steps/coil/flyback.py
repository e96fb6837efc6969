"""Settings of the coil's spike at switch-off."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep


class FlybackStep(HeldStep):
    """How far the coil's low end flies above the supply at switch-off, `makes` times from `coil` volts."""

    title: ClassVar[str] = "spike of the coil"
    gives: ClassVar[tuple[str, ...]] = ("flyback_peak", "flyback_class")

    measure: Literal["flyback"]
    makes: int = Field(default=3, ge=3, le=100, description="how many makes, 3 to 100")
