"""Settings of the makes that close on their load."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import HeldStep, LoadAmps


class HotStep(HeldStep):
    """Whether NO, and then NC, as the part has them, opens after it has closed on `load`: `makes` each, opened dry.

    A hot make wears contacts: few, and after every step whose reading they would change.
    """

    title: ClassVar[str] = "release after a hot make"
    gives: ClassVar[tuple[str, ...]] = ("release_after_hot_make", "opening_after_hot_make_nc")
    loads: ClassVar[bool] = True
    timed: ClassVar[bool] = True

    measure: Literal["hot"]
    load: LoadAmps = Field(default=10.0, description="load current that the throws close on, such as '10 A'")
    makes: int = Field(default=5, ge=1, le=20, description="how many makes a throw, 1 to 20; each wears the contact")

    @property
    def caution(self) -> str:
        """See `Step`."""
        return (
            f"Hot makes wear the contact: each throw closes {self.makes} times on {self.load:g} A. Leave that step out"
            " of the protocol for a part that is to stay as it is."
        )
