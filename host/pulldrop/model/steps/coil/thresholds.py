"""Settings of the walks to pull-in and drop-out."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from pulldrop.model.quantity import show
from pulldrop.model.step import COIL_MOST_V, ON_MOST_S, CoilVolts, Dwell, Step, StepVolts


class ThresholdsStep(Step):
    """Pull-in and drop-out: magnetise at `full`, zero, coarse steps, zero, fine steps with `dwell` each, `walks` times.

    Between very different sizes one middle walk is made, so that a fine walk stays short.
    """

    title: ClassVar[str] = "pull-in and drop-out"
    gives: ClassVar[tuple[str, ...]] = ("pull_in_voltage", "pull_in_voltage_20c", "pull_in_current", "drop_out_voltage")
    turned: ClassVar[bool] = True

    measure: Literal["thresholds"]
    full: CoilVolts | None = Field(
        default=None, description="magnetising voltage; left out: the highest that the protocol puts on the coil"
    )
    coarse: StepVolts = Field(default=0.5, description="size of the coarse steps, such as '500 mV'")
    fine: StepVolts = Field(default=0.05, description="size of the fine steps, such as '50 mV'")
    coarse_dwell: Dwell = Field(default=0.02, description="time at each coarse step, such as '20 ms'")
    dwell: Dwell = Field(default=0.05, description="time at each fine step, such as '50 ms'")
    walks: int = Field(default=1, ge=1, le=20, description="how many fine walks, 1 to 20; their median is the reading")

    @model_validator(mode="after")
    def _can_be_walked(self) -> Self:
        if self.fine > self.coarse:
            raise ValueError(
                f"'fine' ({show(self.fine, 'V')}) is larger than 'coarse' ({show(self.coarse, 'V')}); expected smaller"
            )
        coarse_s = (self.full or COIL_MOST_V) / self.coarse * self.coarse_dwell
        fine_s = 4 * self.coarse / self.fine * self.dwell
        if max(coarse_s, fine_s) > ON_MOST_S:
            raise ValueError(
                f"the steps would hold the coil on for {max(coarse_s, fine_s):.0f} s; the board allows"
                f" {ON_MOST_S:.0f} s: use larger steps or a shorter dwell"
            )
        return self

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.full or nominal_v
