"""Settings of the coil that is held on until it is hot."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep, SoakTime


class SoakStep(HeldStep):
    """The coil held on at `coil` volts for `time`, five minutes by custom, to see what warmth does to it."""

    title: ClassVar[str] = "coil held on until hot"
    gives: ClassVar[tuple[str, ...]] = ("coil_resistance_hot", "coil_rise", "pull_in_voltage_85c")
    sets_coil: ClassVar[bool] = True

    measure: Literal["soak"]
    time: SoakTime = Field(default=300.0, description="how long, such as '300 s'")

    @property
    def caution(self) -> str:
        """See `Step`."""
        return "The coil is held on until it is hot: let the part cool before you take it out."
