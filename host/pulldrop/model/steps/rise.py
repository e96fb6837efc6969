"""Settings of the rise of the drop from pulse to pulse."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.part.relay import NO, RelayForm
from pulldrop.model.step import CoilVolts, LoadAmps, PulseTime, Step

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

    @classmethod
    def beyond(cls, form: RelayForm) -> dict[str, str]:
        """See `Step`."""
        return {} if NO in form.pairs else dict.fromkeys(cls.gives, WITHOUT_NO)

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.coil
