"""Settings of the coil step: contacts at rest, the first make, coil resistance and current."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, LoadAmps, ProbeVolts, Step

FIRST_LOADS = ("first_drop_no", "first_drop_nc")
FIRST = ("first_operate_time", *FIRST_LOADS)
"""What only the first run of a part that lies in its socket can read."""


class CoilStep(Step):
    """Contacts at rest, the first make, coil resistance and current. `probe` is the low first voltage (reversed diode,
    short). With `load` each throw is loaded once: NC before the first make, NO in it.
    """

    title: ClassVar[str] = "contacts at rest, coil"
    gives: ClassVar[tuple[str, ...]] = (
        "contact_rest", "first_operate_time", *FIRST_LOADS, "coil_resistance", "coil_resistance_20c", "coil_current",
    )  # fmt: skip

    measure: Literal["coil"]
    probe: ProbeVolts = Field(default=1.0, description="low first voltage, such as '1 V'")
    at: CoilVolts | None = Field(default=None, description="coil voltage; left out: the rating's nominal voltage")
    load: LoadAmps | None = Field(
        default=None, description="load of the first make, such as '10 A'; left out: it stays dry"
    )

    @property
    def asked(self) -> tuple[str, ...]:
        """See `Step`."""
        return tuple(id for id in self.gives if self.load or id not in FIRST_LOADS)

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.at or nominal_v
