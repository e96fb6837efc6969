"""The shape of one virtual fuse, lamp, diode or resistor; its physics is in `plant/pair`."""

from collections.abc import Mapping
from typing import Any, Literal, Self

from pydantic import Field, model_validator

from pulldrop.plant.between_clips import Blades, Element, FilamentElement, FuseElement, InSocket, Plain
from pulldrop.plant.pair.filament import Filament
from pulldrop.plant.pair.fuse import Fuse, Size, cold_mohm
from pulldrop.plant.shape import KindSpecimen, Shape
from pulldrop.plant.specimen import Faults


class PairFaults(Shape):
    """What is wrong with it."""

    open: bool = Field(default=False, description="blown, burnt out or broken")
    misprinted: bool = Field(default=False, description="what is printed on it is not so")
    film_ohm: float = Field(default=0.0, ge=0, le=1e6, description="film on its blades or in its base, until it breaks")
    crust_mohm: float = Field(default=0.0, ge=0, le=1e6, description="slag or rust there that no load breaks")
    crack_mohm: float = Field(default=0.0, ge=0, le=1e6, description="a crack that touches anew with every load")
    bridge_mohm: float = Field(default=0.0, ge=0, le=1e6, description="wire or foil instead of its element")


class TwoTerminalSpecimen(KindSpecimen):
    """A part with two terminals: a fuse by its size and rating, a lamp by its volts and amps, else by its ohms."""

    kind: Literal["two-terminal"] = Field(description="kind of part")
    component: Literal["fuse", "lamp", "diode", "resistor"] = Field(description="fuse, lamp, diode or resistor")
    ohm: float | None = Field(default=None, gt=0, le=1e9, description="resistance, of what has no other figure")
    size: Size = Field(default="regular", description="of a blade fuse")
    rated_a: float | None = Field(default=None, gt=0, le=500, description="rated current of a fuse")
    factor: float = Field(default=1.0, gt=0.1, lt=10, description="its ohms over the typical ones")
    volts: float | None = Field(default=None, gt=0, le=300, description="rated volts of a lamp")
    amps: float | None = Field(default=None, gt=0, le=100, description="what it takes at these")
    hot_k: float = Field(default=2800.0, ge=1500, le=3500, description="its filament's kelvin then")
    gas: float = Field(default=0.15, ge=0, lt=0.9, description="share of its power that gas and leads take then")
    temperature_c: float | None = Field(default=None, ge=-40, le=125, description="of part and bench")
    faults: PairFaults = Field(default_factory=PairFaults, description="what is wrong with it")

    @model_validator(mode="after")
    def _has_figures(self) -> Self:
        if self.ohm is None and self.rated_a is None and (self.volts is None or self.amps is None):
            raise ValueError(
                "nothing says what it is; expected 'rated_a' of a fuse, 'volts' and 'amps' of a lamp, or 'ohm'"
            )
        return self

    @classmethod
    def sound(cls, rated: Mapping[str, Any]) -> dict[str, object]:
        """See `KindSpecimen`."""
        component = rated["component"]
        if component == "fuse":
            typical = cold_mohm("regular", rated["current"]) * 1e-3
            figures = {"rated_a": rated["current"], "factor": (rated["resistance"] or typical) / typical}
        elif component == "lamp":
            figures = {"volts": rated["nominal"], "amps": rated["current"]}
        else:
            figures = {"ohm": rated["resistance"] or 1.0}
        return {"component": component, **figures}

    @classmethod
    def box(cls, rated: Mapping[str, Any]) -> list[dict[str, object]]:
        """See `KindSpecimen`."""
        noun, sound = rated["component"], cls.sound(rated)
        wrong: dict[str, dict[str, object]] = {
            f"blown or broken {noun}": {"open": True},
            f"{noun} with a crack in it": {"crack_mohm": 300.0},
            f"{noun} with slag on its blades": {"crust_mohm": 300.0},
            f"{noun} with foil in place of its element": {"bridge_mohm": 0.5},
        }
        return [{"title": f"sound {noun}", **sound} for _ in range(4)] + [
            {"title": title, **sound, "faults": faults} for title, faults in wrong.items()
        ]

    def element(self) -> Element:
        """What lies between its terminals."""
        if self.faults.open:
            return Plain(1e9)
        if self.faults.bridge_mohm:
            return Plain(self.faults.bridge_mohm * 1e-3)
        if self.rated_a is not None:
            return FuseElement(Fuse(self.size, self.rated_a), self.factor)
        if self.volts is not None and self.amps is not None:
            return FilamentElement(Filament(self.volts, self.amps, self.hot_k, self.gas))
        return Plain(self.ohm or 1e9)

    def in_socket(self) -> InSocket:
        """See `KindSpecimen`."""
        wrong = self.faults
        blades = Blades(
            element=self.element(), film_ohm=wrong.film_ohm, crust_mohm=wrong.crust_mohm, crack_mohm=wrong.crack_mohm,
            film_burns_a=1e3, pitting_scatter=0.6,
        )  # fmt: skip
        return InSocket(
            title=self.title,
            form="A",
            faults=Faults(coil_open=True, stuck="operated"),
            blades=blades,
            temperature_c=self.temperature_c,
            odd=tuple(f"{name} {value}" for name, value in wrong if value),
        )


SPECIMEN = TwoTerminalSpecimen
