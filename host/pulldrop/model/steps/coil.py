"""Settings of the coil step: contacts at rest, then coil resistance and current."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import CoilVolts, ProbeVolts, Step


class CoilStep(Step):
    """Contacts at rest, then coil resistance and current. `probe` is the low first voltage (reversed diode, short)."""

    title: ClassVar[str] = "contacts at rest, coil"
    gives: ClassVar[tuple[str, ...]] = ("contact_rest", "coil_resistance", "coil_resistance_20c", "coil_current")

    measure: Literal["coil"]
    probe: ProbeVolts = Field(default=1.0, description="low first voltage, such as '1 V'")
    at: CoilVolts | None = Field(default=None, description="coil voltage; left out: the rating's nominal voltage")

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return self.at or nominal_v
