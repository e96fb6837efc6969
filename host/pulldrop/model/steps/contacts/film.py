"""Settings of the film test: dry, loaded, dry."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep, LoadAmps


class FilmStep(HeldStep):
    """Dry, loaded, dry: each throw at 5 mA, at `load`, at 5 mA again, in its first make; the load in `makes` more.

    A film shows only while the part has not been loaded: put it before every 'contact' step.
    """

    title: ClassVar[str] = "contacts dry, loaded, dry"
    gives: ClassVar[tuple[str, ...]] = (
        "contact_before_load_no",
        "contact_loaded_no",
        "contact_after_load_no",
        "contact_scatter_no",
        "contact_before_load_nc",
        "contact_loaded_nc",
        "contact_after_load_nc",
        "contact_scatter_nc",
    )
    loads: ClassVar[bool] = True

    measure: Literal["film"]
    load: LoadAmps = Field(description="load current, such as '10 A'")
    makes: int = Field(default=10, ge=5, le=100, description="how many makes, 5 to 100, for the scatter")
