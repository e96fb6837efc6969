"""Settings of the drop-out after overdrive."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, Step, StepVolts


class OverdriveStep(Step):
    """Drop-out again after magnetising at `full`, well above nominal; last, because what it leaves in iron stays."""

    title: ClassVar[str] = "drop-out after overdrive"
    gives: ClassVar[tuple[str, ...]] = ("drop_out_overdriven",)
    sets_coil: ClassVar[bool] = True

    measure: Literal["overdrive"]
    full: CoilVolts = Field(description="magnetising voltage, such as '18 V'")
    coarse: StepVolts = Field(default=0.5, description="size of the coarse steps, such as '500 mV'")
    fine: StepVolts = Field(default=0.05, description="size of the fine steps, such as '50 mV'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return 0.0  # beyond the bench where the supply does not reach, and left out there
