"""Rated values of a type of part: what its maker promises, or what its class usually keeps."""

import math
import re
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Discriminator,
    Field,
    GetJsonSchemaHandler,
    ModelWrapValidatorHandler,
    Tag,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from pulldrop.model.limit import Source
from pulldrop.model.part.part import Part
from pulldrop.model.part.relay import FORMS, Form, Relay
from pulldrop.model.quantity import PREFIXES, UNITS, WITHOUT_PREFIX, parse
from pulldrop.model.raw import Frozen
from pulldrop.model.wording.near import hint

Build = Literal["mini", "micro"]
"""Size of a relay's body, the commonest first."""
IN_SI = {"numbers": "SI"}
"""Validation context for text that pulldrop wrote itself: there a bare number is in SI, as it was dumped."""


def _in_unit(unit: str) -> BeforeValidator:
    """A finite number above 0 in `unit`, of % also 0: with its unit in files, bare in SI in pulldrop's own records."""

    def check(written: object, info: ValidationInfo) -> float:
        if isinstance(written, bool) or not isinstance(written, str | int | float):
            raise ValueError(f"expected a quantity in {unit}, such as '1 {unit}'")
        if isinstance(written, str):
            quantity = parse(written)
            if quantity.unit != unit:
                raise ValueError(f"'{written}' is in {quantity.unit}; expected {unit}")
            value = quantity.value
        elif info.context is IN_SI:
            value = float(written)
        else:
            raise ValueError(f"{written} has no unit; write it with one, such as '{written} {unit}'")
        if not math.isfinite(value) or value < 0:
            raise ValueError(f"'{written}' is below zero or not finite; expected more than 0 {unit}")
        if value == 0 and unit != "%":  # limits and currents are its quotients
            raise ValueError(f"'{written}' is zero; expected more than 0 {unit}")
        return value

    return BeforeValidator(check, json_schema_input_type=Annotated[str, Field(pattern=_pattern(unit))])


def _pattern(unit: str) -> str:
    """What `parse` takes for this unit, as a regular expression of JSON Schema."""
    spellings = "|".join(written for written, meant in UNITS.items() if meant == unit)
    prefixes = "".join(p for p in PREFIXES if p)
    prefix = "" if unit in WITHOUT_PREFIX else f"[{prefixes}]?"
    return rf"^ *\+?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)? *{prefix}({spellings}) *$"


Volts = Annotated[float, _in_unit("V")]
Amps = Annotated[float, _in_unit("A")]
Ohms = Annotated[float, _in_unit("ohm")]
Seconds = Annotated[float, _in_unit("s")]
Percent = Annotated[float, _in_unit("%")]


_NAME = r"^[a-z0-9]+(-[a-z0-9]+)*$"


def _a_name(written: str) -> str:
    if not re.match(_NAME, written) or len(written) > 60:
        raise ValueError(f"'{written[:60]}' is no name; expected small letters, digits and single hyphens between them")
    return written


Name = Annotated[str, AfterValidator(_a_name), WithJsonSchema({"type": "string", "pattern": _NAME})]
"""Of a protocol or a rating: small letters, digits and single hyphens, the same as its file's name."""


class Drop(Frozen):
    """A rated contact drop and the load current at which it holds."""

    most: Volts = Field(description="highest drop", examples=["300 mV"])
    at: Amps = Field(description="load current at which it holds", examples=["10 A"])


class OhmRange(Frozen):
    """Least and most ohms, as a class of parts has them. In files one text: `60 ohm .. 120 ohm`."""

    least: Ohms
    most: Ohms

    @model_validator(mode="wrap")
    @classmethod
    def _from_text(cls, written: Any, validate: ModelWrapValidatorHandler[Self]) -> Self:
        if isinstance(written, str):
            least, _, most = written.partition("..")
            written = {"least": least.strip(), "most": most.strip()}
        made = validate(written)
        if made.least >= made.most:
            raise ValueError("the lower end is not below the upper one; expected such as '60 ohm .. 120 ohm'")
        return made

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        if handler.mode == "serialization":
            return handler(core)
        one = _pattern("ohm").strip("^$")
        return {"type": "string", "pattern": f"^{one}\\.\\.{one}$"}

    def __str__(self) -> str:
        return f"{self.least:g} ohm .. {self.most:g} ohm"


def _ohms_or_range(written: object) -> str:
    return "range" if isinstance(written, OhmRange | dict) or (isinstance(written, str) and ".." in written) else "ohms"


CoilOhms = Annotated[Annotated[Ohms, Tag("ohms")] | Annotated[OhmRange, Tag("range")], Discriminator(_ohms_or_range)]
"""One figure, with `coil_tolerance` about it, or the range of a class."""


SYSTEM_V = 12.0
"""Of a part that is for any."""


class KindRating(Frozen):
    """What ratings of every kind of part have; a kind adds its figures."""

    rating: Name = Field(description="name of the rating, the same as the file's")
    title: str = Field(min_length=1, max_length=120, description="the type of part, in words")
    source: Source = Field(description="where the figures come from, and how they are known")
    kind: str
    notes: str = Field(default="", description="what else the sheet says")

    @property
    def sort(self) -> str:
        """What measurements go by: the kind, of a two-terminal part its component."""
        return self.kind

    @property
    def filament(self) -> bool:
        """Whether its ohms are a fraction while it is cold."""
        return False

    @property
    def of_a_class(self) -> bool:
        """Whether it is for parts of any maker."""
        return True

    @property
    def system_v(self) -> float:
        """Volts of the system that it is for, by which a protocol may differ."""
        return getattr(self, "nominal", None) or SYSTEM_V

    def source_of(self, _figure: str) -> Source:
        """Where one figure comes from."""
        return self.source

    def part(self, id: str = "") -> Part:
        """A part of this type."""
        raise NotImplementedError

    def __str__(self) -> str:
        """The kind of part that it is for, in a few words."""
        raise NotImplementedError


class Rating(KindRating):
    """Rated values of a relay in SI. A figure that the maker does not give stays None: no limit comes from it.

    `coil_tolerance` in percent; `figures` gives a source of its own to single figures where it differs.
    """

    kind: Literal["relay"] = Field(default="relay", description="kind of part: relay")
    form: Form = Field(description="contact form", examples=[f"{one.form} ({one.title})" for one in FORMS.values()])
    nominal: Volts = Field(description="nominal coil voltage", examples=["12 V"])
    any_maker: Build | None = Field(
        default=None, description="size of the body, mini or micro, for a class of parts whoever made them"
    )
    coil_resistance: CoilOhms | None = Field(
        default=None, description="coil resistance at 20 degC", examples=["85 ohm", "60 ohm .. 120 ohm"]
    )
    coil_tolerance: Percent | None = Field(
        default=None, description="tolerance of the coil, either way", examples=["10 %"]
    )
    pull_in_most: Volts | None = Field(default=None, description="highest pull-in voltage at 20 degC")
    drop_out_least: Volts | None = Field(default=None, description="lowest drop-out voltage at 20 degC")
    pull_in_least: Volts | None = Field(
        default=None, description="lowest pull-in voltage at 20 degC of a sound part; no limit, it shows a weak spring"
    )
    drop_out_most: Volts | None = Field(
        default=None, description="highest drop-out voltage at 20 degC of a sound part; no limit"
    )
    operate_most: Seconds | None = Field(default=None, description="longest operate time, bounce excluded")
    release_most: Seconds | None = Field(default=None, description="longest release time, bounce excluded")
    drop_no: Drop | None = Field(default=None, description="contact drop of 87 (NO)")
    drop_nc: Drop | None = Field(default=None, description="contact drop of 87a (NC)")
    suppression: Literal["none", "resistor", "diode", "diode_zener"] | None = Field(
        default=None, description="what the maker puts across the coil: none, resistor, diode, diode_zener"
    )
    contact_no: Amps | None = Field(default=None, description="rated current of 87 (NO)")
    contact_nc: Amps | None = Field(default=None, description="rated current of 87a (NC)")
    figures: dict[str, Source] = Field(
        default_factory=dict, description="sources of single figures, by key, where they differ from `source`"
    )

    @field_validator("figures", mode="before")
    @classmethod
    def _of_known_figures(cls, figures: Any) -> Any:
        known = [
            key
            for key in cls.model_fields
            if key not in ("rating", "title", "source", "kind", "form", "any_maker", "figures", "notes")
        ]
        for key in figures if isinstance(figures, dict) else ():
            if key not in known:
                raise ValueError(f"'{key}' is no figure of a rating; {hint(str(key), known)}")
        return figures

    @model_validator(mode="after")
    def _one_way_to_say_it(self) -> Self:
        if isinstance(self.coil_resistance, OhmRange) and self.coil_tolerance is not None:
            raise ValueError("a range of 'coil_resistance' has no 'coil_tolerance'; take one of them out")
        return self

    @property
    def coil_ohm(self) -> float | None:
        """Ohms of the coil at 20 degC: the figure, or the middle of its range."""
        coil = self.coil_resistance
        return (coil.least + coil.most) / 2 if isinstance(coil, OhmRange) else coil

    @property
    def coil_share(self) -> float | None:
        """How far the coil may be off `coil_ohm` either way, as a share of it; None where the rating does not say."""
        coil = self.coil_resistance
        if isinstance(coil, OhmRange):
            return (coil.most - coil.least) / (coil.most + coil.least)
        return None if self.coil_tolerance is None else self.coil_tolerance / 100

    @property
    def of_a_class(self) -> bool:
        """See `KindRating`."""
        return self.any_maker is not None

    def source_of(self, figure: str) -> Source:
        """See `KindRating`."""
        return self.figures.get(figure, self.source)

    def part(self, id: str = "") -> Relay:
        """See `KindRating`."""
        return Relay(id=id, form=self.form)

    def __str__(self) -> str:
        return f"{FORMS[self.form].called}, {self.nominal:g} V"
