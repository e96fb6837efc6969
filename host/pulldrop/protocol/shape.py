"""What stands in a protocol file. Its limits stay text here; `limits.py` gives them meaning."""

from typing import Annotated, Any, Self

from pydantic import Field, GetJsonSchemaHandler, ModelWrapValidatorHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from pulldrop.model.limit import Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.kinds import TESTED, TestedKind
from pulldrop.model.part.rating import Name
from pulldrop.model.raw import Frozen
from pulldrop.model.run.purpose import Purpose
from pulldrop.model.steps import AnyStep
from pulldrop.protocol.expression import LONGEST

_LIMIT_TEXT: JsonSchemaValue = {
    "type": "string",
    "pattern": r"^ *(<=|>=|≤|≥|rated\b|at rest|operated|as rated|[0-9.])",
    "maxLength": LONGEST,
    "description": "A limit, such as '<= 300 mV', '>= 10 % of nominal', 'rated +- tolerance' or 'at rest'.",
}


class LimitLine(Frozen):
    """One limit: a text alone, or a mapping of `limit` and a `source` of its own."""

    limit: str = Field(json_schema_extra=_LIMIT_TEXT)
    source: Source | None = Field(default=None, description="where it comes from, when not from the whole protocol")

    @model_validator(mode="wrap")
    @classmethod
    def _from_text(cls, written: Any, validate: ModelWrapValidatorHandler[Self]) -> Self:
        if isinstance(written, str):
            return cls(limit=written)
        if isinstance(written, int | float) or written is None:
            raise ValueError(f"{written} is no limit; expected one such as '<= 300 mV' or 'rated +- tolerance'")
        return validate(written)

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"anyOf": [_LIMIT_TEXT, handler(core)]}


_KNOWN_IDS: JsonSchemaValue = {"propertyNames": {"enum": list(MEASUREMENTS)}}
Limits = Annotated[dict[str, LimitLine], Field(json_schema_extra=_KNOWN_IDS)]


class Protocol(Frozen):
    """A test protocol as written: the steps to take with one kind of part, and the limits to judge it by.

    Contact form and nominal voltage come with the rating; see `system.py` for what differs by system.
    """

    protocol: Name = Field(description="name of the protocol, the same as the file's")
    version: int = Field(ge=1, description="whole number, raised with every change that can change a verdict")
    title: str = Field(min_length=1, max_length=120, description="what it is for, in a line")
    kind: TestedKind = Field(description=f"kind of part that it is for: {' or '.join(TESTED)}")
    purpose: Purpose | None = Field(default=None, description="which of the shipped ones for its kind of part it is")
    leads_on: tuple[Purpose, ...] = Field(
        default=("full", "diagnose", "soak"),
        description="purposes of the protocols that a result names for what this one leaves out or finds unsure",
    )
    source: Source = Field(description="where the protocol's own limits come from")
    steps: tuple[AnyStep, ...] = Field(min_length=1, description="what to measure, in order; coil first, each once")
    limits: Limits = Field(default_factory=dict, description="limits by measurement id")
