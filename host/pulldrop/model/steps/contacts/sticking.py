"""Settings of the opening right after a load."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep, LoadAmps, PulseTime


class StickingStep(HeldStep):
    """Whether NO opens right after a load pulse of `load`, over `makes` dry makes."""

    title: ClassVar[str] = "release after load"
    gives: ClassVar[tuple[str, ...]] = ("release_after_load",)
    heavy: ClassVar[bool] = True
    loads: ClassVar[bool] = True
    timed: ClassVar[bool] = True

    measure: Literal["sticking"]
    load: LoadAmps = Field(description="load current, such as '20 A'")
    makes: int = Field(default=5, ge=3, le=100, description="how many makes, 3 to 100")
    pulse: PulseTime = Field(default=0.03, description="length of a load pulse, such as '30 ms'")
