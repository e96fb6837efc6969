"""Parts with two terminals: fuse, lamp, diode or resistor, and what is promised of them."""

from typing import ClassVar, Literal, Self

from pydantic import Field, model_validator

from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import Amps, Drop, KindRating, Ohms, Percent, Volts

Component = Literal["fuse", "lamp", "diode", "resistor"]
FIGURES: dict[Component, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "fuse": (("current",), ("nominal", "resistance", "tolerance")),
    "lamp": (("nominal", "current"), ("tolerance",)),
    "diode": (("drop",), ("current",)),
    "resistor": (("resistance",), ("tolerance",)),
}
"""The figures that a component must have, and those that it may have."""


class TwoTerminal(Part):
    """A fuse, lamp, diode or resistor."""

    noun: ClassVar[str] = "a two-terminal part"
    plural: ClassVar[str] = "two-terminal parts"
    command: ClassVar[str] = "pair"
    ratings: ClassVar[str] = "pairs"

    kind: Literal["two-terminal"] = "two-terminal"
    component: Component

    def __str__(self) -> str:
        return self.component


class TwoTerminalRating(KindRating):
    """Rated values in SI. Which of them a component has: `FIGURES`."""

    kind: Literal["two-terminal"] = Field(description="kind of part it is: two-terminal")
    component: Component = Field(description="fuse, lamp, diode or resistor")
    nominal: Volts | None = Field(default=None, description="voltage that it is made for", examples=["24 V"])
    current: Amps | None = Field(
        default=None, description="rated current; of a lamp, what it takes at nominal", examples=["10 A"]
    )
    resistance: Ohms | None = Field(default=None, description="resistance at 20 degC")
    tolerance: Percent | None = Field(
        default=None, description="tolerance of that, of a lamp of its current, either way", examples=["10 %"]
    )
    drop: Drop | None = Field(default=None, description="of a diode: highest forward drop, and at which current")

    @model_validator(mode="after")
    def _own_figures(self) -> Self:
        must, may = FIGURES[self.component]
        for name in must:
            if getattr(self, name) is None:
                raise ValueError(f"'{name}' is missing: nothing can be said of a {self.component} without it")
        for name in {figure for one, more in FIGURES.values() for figure in (*one, *more)} - {*must, *may}:
            if getattr(self, name) is not None:
                raise ValueError(f"'{name}' is no figure of a {self.component}; known are {', '.join((*must, *may))}")
        return self

    @property
    def sort(self) -> str:
        """See `KindRating`."""
        return self.component

    @property
    def filament(self) -> bool:
        """See `KindRating`."""
        return self.component == "lamp"

    def part(self, id: str = "") -> TwoTerminal:
        """See `KindRating`."""
        return TwoTerminal(id=id, component=self.component)

    def __str__(self) -> str:
        return self.component


PART, RATING = TwoTerminal, TwoTerminalRating
