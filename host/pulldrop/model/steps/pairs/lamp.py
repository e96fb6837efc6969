"""Settings of a filament lamp's step: its ohms cold, and its steady current through the load branches."""

from typing import ClassVar, Literal

from pydantic import Field

from pulldrop.model.step import LoadAmps, Step


class LampStep(Step):
    """A lamp at 30 and 87: ohms at a few mA, then what it takes after half a second behind the largest load of the
    build up to `load`."""

    title: ClassVar[str] = "lamp, cold and warm"
    gives: ClassVar[tuple[str, ...]] = ("pair_dry", "lamp_current", "lamp_power", "lamp_warming")
    fed: ClassVar[bool] = False
    loads: ClassVar[bool] = True
    kinds: ClassVar[tuple[str, ...]] = ("lamp",)

    measure: Literal["lamp"]
    load: LoadAmps = Field(default=20.0, description="largest load, such as '20 A'")

    @property
    def caution(self) -> str:
        """See `Step`."""
        return (
            "The lamp may light up, gets hot, and may burst: hold no glass, look away from it, keep what burns away,"
            " and let it cool before you take it out."
        )
