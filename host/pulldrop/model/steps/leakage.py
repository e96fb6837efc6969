"""Settings of the insulation."""

from typing import ClassVar, Literal

from pulldrop.model.steps.step import Step


class LeakageStep(Step):
    """Insulation of the open contact, and of the coil from the contacts, at 5 V by the terminal scan."""

    title: ClassVar[str] = "insulation between terminals"
    gives: ClassVar[tuple[str, ...]] = ("leakage_open_contact", "leakage_coil_contact")
    fed: ClassVar[bool] = False

    measure: Literal["leakage"]

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return 0.0
