"""Settings of a fuse's step: its ohms at a few mA and under short loads."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import LoadAmps, PulseTime, Step


class FuseStep(Step):
    """A fuse at 30 and 87: ohms at a few mA, then `pulses` of at most `load`, what the build has and it bears."""

    title: ClassVar[str] = "fuse, cold and under load"
    gives: ClassVar[tuple[str, ...]] = ("pair_dry", "pair_resistance", "pair_drop", "pair_scatter", "pair_drop_hot")
    fed: ClassVar[bool] = False
    loads: ClassVar[bool] = True
    kinds: ClassVar[tuple[str, ...]] = ("fuse",)

    measure: Literal["fuse"]
    load: LoadAmps = Field(default=10.0, description="load current at most, such as '10 A'")
    pulses: int = Field(default=8, ge=6, le=100, description="how many pulses: fewer than 6 say nothing of scatter")
    pulse: PulseTime = Field(default=0.012, description="length of a load pulse, such as '12 ms'")

    @property
    def caution(self) -> str:
        """See `Step`."""
        return (
            "The fuse may blow: fingers and eyes off it while it is loaded, its cover closed, and it may be hot after"
            " it."
        )
