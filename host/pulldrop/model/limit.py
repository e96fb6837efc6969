"""A limit as it is applied: numbers in SI, and where they come from."""

from typing import Any, Literal, Self, get_args

from pydantic import GetJsonSchemaHandler, ModelWrapValidatorHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from pulldrop.model.part.pair import ContactState
from pulldrop.model.raw import Frozen, OneLine

Known = Literal["read", "second hand", "calculated", "from memory", "common practice", "assumed"]


class Source(Frozen):
    """Where a figure comes from, and how it is known. In files one string: `"read: maker's data sheet"`."""

    text: OneLine
    known: Known

    @model_validator(mode="wrap")
    @classmethod
    def _from_string(cls, written: Any, validate: ModelWrapValidatorHandler[Self]) -> Self:
        return cls.parse(written) if isinstance(written, str) else validate(written)

    @classmethod
    def parse(cls, written: str) -> Self:
        """`"read: maker's data sheet"` -> Source. Raises ValueError with a sentence for a person."""
        word, colon, text = written.partition(":")
        for known in get_args(Known):
            if word.strip() == known and text.strip():
                return cls(text=text.strip(), known=known)
        words = ", ".join(get_args(Known))
        lack = "says nothing after the colon" if colon and not text.strip() else f"begins with '{word.strip()[:40]}'"
        raise ValueError(f"a source {lack}; expected how it is known ({words}), a colon, and the source itself")

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        if handler.mode == "serialization":
            return handler(core)
        words = "|".join(get_args(Known))
        about = 'How the figure is known, a colon, and where it comes from, such as "read: maker\'s data sheet".'
        return {"type": "string", "pattern": f"^({words}): *\\S", "description": about}


class Limit(Frozen):
    """`low` and `high` in the reading's unit, either may be None; `state` for contact states.

    `text` is the limit as a person reads it, e.g. "<= 8.40 V (70 % of nominal 12 V)".
    """

    text: OneLine
    source: Source
    unit: OneLine
    low: float | None = None
    high: float | None = None
    state: ContactState | None = None
