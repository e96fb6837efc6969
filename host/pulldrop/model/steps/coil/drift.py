"""Settings of the look at whether the winding is as warm as the bench."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import RestTime, Step


class DriftStep(Step):
    """The coil's ohms at nominal volts before and after it lay at `rest`: a winding colder than the bench warms."""

    title: ClassVar[str] = "winding against bench"
    gives: ClassVar[tuple[str, ...]] = ("winding_drift",)

    measure: Literal["drift"]
    rest: RestTime = Field(default=4.0, description="how long, such as '4 s'")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return nominal_v
