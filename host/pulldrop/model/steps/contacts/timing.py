"""Settings of the times: operate, release, bounce and transfer."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.bench.abilities import Abilities
from pulldrop.model.step import HeldStep

Clamp = Literal["tvs", "diode"]
"""What takes the coil's energy on the bench at switch-off: the 68 V TVS, or a 1N4007 across the coil."""


class TimingStep(HeldStep):
    """Operate, release, bounce, transfer over `makes` at `coil` volts, and the clamp named."""

    title: ClassVar[str] = "operate, release, bounce"
    gives: ClassVar[tuple[str, ...]] = (
        "contact_operated",
        "operate_time",
        "release_time",
        "bounce_time_no",
        "bounce_time_nc",
        "transfer_time",
    )
    timed: ClassVar[bool] = True

    measure: Literal["timing"]
    clamp: Clamp = Field(default="tvs", description="across the coil at switch-off: the 68 V TVS, or a diode")
    makes: int = Field(default=10, ge=1, le=100, description="how many makes, 1 to 100")

    def lacks(self, able: Abilities, nominal_v: float, hand: bool) -> str:
        """See `Step`."""
        why = super().lacks(able, nominal_v, hand)
        return why or ("" if able.clamp_diode or self.clamp == "tvs" else "this build has no diode for the coil")
