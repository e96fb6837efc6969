"""Rated values of a type of part: what its maker promises, or what its class usually keeps."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, ValidationInfo

from pulldrop.model.limit import Source
from pulldrop.model.quantity import parse
from pulldrop.model.raw import Frozen

Form = Literal["A", "C"]
"""Contact form by the standard letters: A normally open (4 terminals), C changeover (5 terminals)."""


IN_SI = {"numbers": "SI"}
"""Validation context for text that pulldrop wrote itself: there a bare number is in SI, as it was dumped."""


def _in_unit(unit: str) -> BeforeValidator:
    def check(written: object, info: ValidationInfo) -> float:
        if info.context is IN_SI and isinstance(written, float | int) and not isinstance(written, bool):
            return float(written)
        if isinstance(written, bool) or not isinstance(written, str | int | float):
            raise ValueError(f"expected a quantity in {unit}, such as '1 {unit}'")
        if not isinstance(written, str):
            raise ValueError(f"{written} has no unit; write it with one, such as '{written} {unit}'")
        quantity = parse(written)
        if quantity.unit != unit:
            raise ValueError(f"'{written}' is in {quantity.unit}; expected {unit}")
        return quantity.value

    return BeforeValidator(check, json_schema_input_type=str)


Volts = Annotated[float, _in_unit("V"), Field(ge=0, allow_inf_nan=False)]
Amps = Annotated[float, _in_unit("A"), Field(ge=0, allow_inf_nan=False)]
Ohms = Annotated[float, _in_unit("ohm"), Field(ge=0, allow_inf_nan=False)]
Seconds = Annotated[float, _in_unit("s"), Field(ge=0, allow_inf_nan=False)]
Percent = Annotated[float, _in_unit("%"), Field(ge=0, allow_inf_nan=False)]


class Drop(Frozen):
    """A rated contact drop and the load current at which it holds."""

    most: Volts
    at: Amps


class Rating(Frozen):
    """Rated values in SI. A figure that the maker does not give stays None: no limit comes from it.

    `coil_tolerance` in percent; `figures` gives a source of its own to single figures where it differs.
    """

    rating: str
    title: str
    source: Source
    form: Form
    nominal: Volts
    coil_resistance: Ohms | None = None
    coil_tolerance: Percent | None = None
    pull_in_most: Volts | None = None
    drop_out_least: Volts | None = None
    operate_most: Seconds | None = None
    release_most: Seconds | None = None
    drop_no: Drop | None = None
    drop_nc: Drop | None = None
    contact_no: Amps | None = None
    contact_nc: Amps | None = None
    figures: dict[str, Source] = Field(default_factory=dict)
    notes: str = ""
