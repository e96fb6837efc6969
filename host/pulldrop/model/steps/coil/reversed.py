"""Settings of the pulses through exchanged coil leads."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, ReversedTime, Step, StepVolts


class ReversedStep(Step):
    """Reversed pulses by exchanged coil leads, which a person is asked for; drop-out before and after, after a make
    as gentle as the part allows. No pulse comes near its pull-in. Parts with a diode are refused."""

    title: ClassVar[str] = "reversed pulses, by exchanged leads"
    gives: ClassVar[tuple[str, ...]] = (
        "contact_released",
        "drop_out_before_reversal",
        "contact_reversed",
        "drop_out_after_reversal",
        "drop_out_rise",
    )
    sets_coil: ClassVar[bool] = True

    measure: Literal["reversed"]
    full: CoilVolts | None = Field(default=None, description="magnetising voltage; left out: the nominal voltage")
    last: CoilVolts | None = Field(
        default=None,
        description="largest reversed pulse; left out: half of nominal, 0.4 of it for a part that stays operated",
    )
    pulses: int = Field(default=6, ge=3, le=20, description="how many reversed pulses, each larger, 3 to 20")
    pulse: ReversedTime = Field(default=0.1, description="length of a reversed pulse, such as '100 ms'")
    walks: int = Field(default=3, ge=1, le=20, description="how many fine walks to each drop-out, 1 to 20")
    coarse: StepVolts = Field(default=0.5, description="size of the coarse steps, such as '500 mV'")
    fine: StepVolts = Field(default=0.05, description="size of the fine steps, such as '50 mV'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.full or nominal_v
