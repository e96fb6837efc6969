"""A part of the second plant as the virtual bench takes it: a specimen that brings its own relay and contacts.

Form, layout, suppressor, room, leaks and welding under load are the bench's business and stay the specimen's fields;
its coil, armature and contacts are not looked at.
"""

from designs.second.design import Design
from designs.second.relay import SecondRelay
from designs.second.surface import Contact
from pulldrop.plant.relay.suppression import Harness
from pulldrop.plant.specimen import Specimen


class SecondPart(Specimen):
    """Invented; `design`: its physics."""

    design: Design

    @property
    def contacts(self) -> tuple[Contact, Contact]:  # type: ignore[override]  # asked the same, made otherwise
        """NO and NC."""
        return (Contact(self.design.contact_no), Contact(self.design.contact_nc))

    def relay(self, temperature_c: float, seed: int | None, harness: Harness) -> SecondRelay:  # type: ignore[override]
        """The same calls as those of the host's relay."""
        return SecondRelay(self.design, self.suppression, temperature_c, seed, harness)
