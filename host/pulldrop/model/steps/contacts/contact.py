"""Settings of the contact drop under load."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep, LoadAmps, PulseTime


class ContactStep(HeldStep):
    """Contact drop at `load`, four-wire, `makes` dry makes at `coil` volts with one pulse each."""

    title: ClassVar[str] = "contact drop under load"
    gives: ClassVar[tuple[str, ...]] = ("contact_drop_no", "contact_drop_twin", "contact_drop_nc")
    loads: ClassVar[bool] = True

    measure: Literal["contact"]
    load: LoadAmps = Field(description="load current, such as '10 A'")
    makes: int = Field(
        default=10, ge=10, le=100, description="how many makes, 10 to 100: fewer say nothing about scatter"
    )
    pulse: PulseTime = Field(default=0.012, description="length of a load pulse, such as '12 ms'")
