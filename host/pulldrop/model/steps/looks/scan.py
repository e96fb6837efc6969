"""Settings of the look at coil and resting contacts by the terminal scan."""

from typing import ClassVar, Literal

from pulldrop.model.step import Step


class ScanStep(Step):
    """Contacts at rest, coil resistance and the resting contact at a few mA, by the terminal scan; no supply needed."""

    title: ClassVar[str] = "contacts at rest, coil, at a few mA"
    gives: ClassVar[tuple[str, ...]] = ("contact_rest", "coil_resistance", "coil_resistance_20c", "contact_dry_nc")
    fed: ClassVar[bool] = False
    pairs: ClassVar[bool] = True

    measure: Literal["scan"]

    def held_v(self, nominal_v: float) -> float:
        """See `Step`."""
        return 0.0
