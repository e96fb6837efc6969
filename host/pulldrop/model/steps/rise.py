"""Settings of the rise of the drop from pulse to pulse."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from pulldrop.model.part.relay import NO, RelayForm
from pulldrop.model.quantity import show
from pulldrop.model.step import CoilVolts, LoadAmps, PulseTime, Step

TOGETHER_S = 0.42
"""The board gives 500 ms of load without a longer rest; a pulse may take 10 ms more than it says."""
WITHOUT_NO = "this bench cannot, for this form: it measures that of NO alone"


class RiseStep(Step):
    """How the drop of one make of NO grows over `pulses` load pulses close upon each other."""

    title: ClassVar[str] = "drop from pulse to pulse"
    gives: ClassVar[tuple[str, ...]] = ("contact_climb_no",)
    loads: ClassVar[bool] = True

    measure: Literal["rise"]
    coil: CoilVolts = Field(description="coil voltage, such as '13.5 V'")
    load: LoadAmps = Field(description="load current, such as '20 A'")
    pulses: int = Field(default=6, ge=3, le=10, description="how many pulses, 3 to 10")
    pulse: PulseTime = Field(default=0.06, description="length of a load pulse, such as '60 ms'")

    @model_validator(mode="after")
    def _given_without_a_rest(self) -> Self:
        if self.pulses * self.pulse > TOGETHER_S + 1e-9:
            asked, most = show(self.pulses * self.pulse, "s"), show(TOGETHER_S, "s")
            raise ValueError(
                f"{self.pulses} pulses of {show(self.pulse, 's')} are {asked} of load; the board gives {most} close"
                " upon each other: take fewer, or shorter ones"
            )
        return self

    @classmethod
    def beyond(cls, form: RelayForm) -> dict[str, str]:
        """See `Step`."""
        return {} if NO in form.pairs else dict.fromkeys(cls.gives, WITHOUT_NO)

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.coil
