"""Settings of the rise of the drop from pulse to pulse."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from pulldrop.model.part.relay import NO, RelayForm
from pulldrop.model.quantity import show
from pulldrop.model.step import HeldStep, LoadAmps, PulseTime

TOGETHER_S, SPARE_MS, MORE_S = 0.5, 30, 0.01
"""Load that the board gives without a longer rest; how much later than asked it ends a pulse by itself, so that it
refuses one beforehand; and what a pulse takes longer than it says with a converter that is 10 % slow (ADS1115 data
sheet), the milliseconds in which it begins and ends counted whole."""
WITHOUT_NO = "this bench cannot, for this form: it measures that of 87 alone"


class RiseStep(HeldStep):
    """How the drop of one make of NO grows over `pulses` load pulses close upon each other."""

    title: ClassVar[str] = "drop from pulse to pulse"
    gives: ClassVar[tuple[str, ...]] = ("contact_climb_no",)
    heavy: ClassVar[bool] = True
    loads: ClassVar[bool] = True

    measure: Literal["rise"]
    load: LoadAmps = Field(description="load current, such as '20 A'")
    pulses: int = Field(default=6, ge=3, le=10, description="how many pulses, 3 to 10")
    pulse: PulseTime = Field(default=0.06, description="length of a load pulse, such as '60 ms'")

    @model_validator(mode="after")
    def _given_without_a_rest(self) -> Self:
        most = (TOGETHER_S - SPARE_MS / 1000 - (self.pulses - 1) * MORE_S) / self.pulses
        if self.pulse > most + 1e-9:
            raise ValueError(
                f"{self.pulses} pulses of {show(self.pulse, 's')} are more load than the board gives close upon each"
                f" other: take fewer, or shorter ones, of {int(1000 * most + 1e-6)} ms at most"
            )
        return self

    @classmethod
    def beyond(cls, form: RelayForm) -> dict[str, str]:
        """See `Step`."""
        return {} if NO in form.pairs else dict.fromkeys(cls.gives, WITHOUT_NO)
