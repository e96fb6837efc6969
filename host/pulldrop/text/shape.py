"""A document fitted to a pydantic shape; every complaint in words, at its place, all of them at once."""

import json
from collections.abc import Mapping
from difflib import get_close_matches
from types import NoneType
from typing import Annotated, Any, Literal, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from pulldrop.text.document import Document, Steps, Value
from pulldrop.text.problem import BadText, Problem

Shape = TypeVar("Shape", bound=BaseModel)

_EXPECTED = {
    "string_type": "text",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "tuple_type": "a list, each entry after '- '",
    "list_type": "a list, each entry after '- '",
    "dict_type": "a mapping, 'key: value'",
    "model_type": "a mapping, 'key: value'",
    "model_attributes_type": "a mapping, 'key: value'",
    "dataclass_type": "a mapping, 'key: value'",
    "greater_than": "more than {gt}",
    "greater_than_equal": "at least {ge}",
    "less_than": "less than {lt}",
    "less_than_equal": "at most {le}",
    "too_short": "at least {min_length} in it",
    "too_long": "at most {max_length} in it",
    "string_too_short": "some text",
    "string_too_long": "at most {max_length} characters",
    "string_pattern_mismatch": "text of the pattern {pattern}",
    "literal_error": "{expected}",
    "enum": "{expected}",
    "union_tag_invalid": "{expected_tags}",
}


def fit(document: Document, shape: type[Shape]) -> Shape:
    """The document as a `shape`. Raises BadText with every problem of the document and of its fit."""
    problems, fitted = try_fit(document, shape)
    if problems or fitted is None:
        raise BadText(problems)
    return fitted


def fit_kind(document: Document, shapes: Mapping[str, type[Shape]], usual: str) -> Shape:
    """The document as the shape of its `kind`, of the `usual` kind where it names none. Raises BadText as `fit`."""
    kind = document.value.get("kind", usual) if isinstance(document.value, dict) else usual
    if isinstance(kind, str) and kind in shapes:
        return fit(document, shapes[kind])
    near = get_close_matches(str(kind), shapes, 1)
    hint = f"; did you mean '{near[0]}'?" if near else ""
    known = ", ".join(f"'{one}'" for one in shapes)
    raise BadText([document.problem(("kind",), f"'kind': found '{str(kind)[:60]}'; expected one of {known}{hint}")])


def try_fit(document: Document, shape: type[Shape]) -> tuple[list[Problem], Shape | None]:
    """Every problem, and the fitted shape when the fit itself has none.

    Fitted as strict JSON: lists become tuples, but "10" is no number and true is no 1.
    """
    try:
        return list(document.problems), shape.model_validate_json(json.dumps(document.value), strict=True)
    except ValidationError as error:
        found = error.errors(include_url=False)
    meant = {(*e["loc"][:-1], near) for e in found if (near := _near_key(shape, e))}
    told = {(p.line, p.column) for p in document.problems}
    problems = [_problem(document, shape, e) for e in found if e["type"] != "missing" or e["loc"] not in meant]
    return [*document.problems, *(p for p in problems if (p.line, p.column) not in told)], None


def _problem(document: Document, shape: type[BaseModel], error: ErrorDetails) -> Problem:
    loc, kind, context = error["loc"], error["type"], error.get("ctx", {})
    if kind == "union_tag_invalid":
        loc = (*loc, context["discriminator"].strip("'"))
    at_key = kind == "extra_forbidden" or loc[-1:] == ("[key]",)
    if kind == "extra_forbidden":
        says = _unknown_key(shape, error)
    elif kind == "missing":
        says = f"'{loc[-1]}' is missing{_hope(shape, loc)}"
    elif kind == "union_tag_not_found":
        says = f"{context['discriminator']} is missing; expected it first in this mapping"
    elif kind == "value_error":
        says = f"{_named(loc)}{context['error']}"
    elif kind in _EXPECTED:
        says = f"{_named(loc)}found {_found(kind, error)}; expected {_EXPECTED[kind].format(**context)}"
        says += _near_value(error) or _hope(shape, loc, " - ")
    else:
        says = f"{_named(loc)}{error['msg']}"
    return document.problem(loc, says, at_key=at_key)


def _named(loc: Steps) -> str:
    words = [step for step in loc if isinstance(step, str) and step != "[key]"]
    return f"'{words[-1][:60]}': " if words else ""


def _found(kind: str, error: ErrorDetails) -> str:
    if kind == "union_tag_invalid":
        return f"'{str(error['ctx']['tag'])[:60]}'"
    return describe(error["input"])


def describe(value: Value) -> str:
    """A value as the person sees it in the file."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a mapping"
    return f"'{str(value)[:60]}'"


def _hope(shape: type[BaseModel], loc: Steps, joint: str = "; expected ") -> str:
    """What the field is for, when its shape says so."""
    owner = _owner(shape, loc[:-1])
    field = owner.model_fields.get(str(loc[-1])) if owner and loc else None
    if field is None or not field.description:
        return ""
    examples = " or ".join(f"'{one}'" for one in field.examples or ())
    return f"{joint}{field.description}{f', such as {examples}' if examples else ''}"


def _near_key(shape: type[BaseModel], error: ErrorDetails) -> str | None:
    """The known key that an unknown one probably means."""
    if error["type"] != "extra_forbidden":
        return None
    near = get_close_matches(str(error["loc"][-1]), _keys(shape, error["loc"][:-1]), 1)
    return near[0] if near else None


def _unknown_key(shape: type[BaseModel], error: ErrorDetails) -> str:
    near = _near_key(shape, error)
    known = _keys(shape, error["loc"][:-1])
    hint = f"did you mean '{near}'?" if near else f"known here are {', '.join(known)}"
    return f"'{str(error['loc'][-1])[:60]}' is not known here; {hint}"


def _near_value(error: ErrorDetails) -> str:
    """Which allowed word a wrong one probably means."""
    context = error.get("ctx", {})
    listed = str(context.get("expected") or context.get("expected_tags") or "")
    wrong = str(context.get("tag", error["input"]))
    near = get_close_matches(wrong, [word.strip(" '") for word in listed.replace(" or ", ",").split(",")], 1)
    return f"; did you mean '{near[0]}'?" if near and listed else ""


def _keys(shape: type[BaseModel], loc: Steps) -> list[str]:
    owner = _owner(shape, loc)
    return list(owner.model_fields) if owner else []


def _owner(shape: type[BaseModel], loc: Steps) -> type[BaseModel] | None:
    """The model that stands at `loc`, a place as pydantic names it (with the tags of unions among the steps)."""
    here: Any = shape
    for step in loc:
        here = _inside(_bare(here), step)
    here = _bare(here)
    return here if isinstance(here, type) and issubclass(here, BaseModel) else None


def _bare(annotation: Any) -> Any:
    """Without Annotated, and without None."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    rest = [a for a in get_args(annotation) if a is not NoneType]
    return _bare(rest[0]) if NoneType in get_args(annotation) and len(rest) == 1 else annotation


def _inside(annotation: Any, step: str | int) -> Any:
    """One step down: a field, an entry, or the member of a union that carries the tag `step`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        field = annotation.model_fields.get(str(step))
        return field.annotation if field else None
    inner = get_args(annotation)
    if get_origin(annotation) in (tuple, list):
        return inner[0]
    if get_origin(annotation) is dict:
        return inner[1]
    return next((member for member in inner if _carries(member, step)), None)


def _carries(member: Any, tag: str | int) -> bool:
    fields = member.model_fields.values() if isinstance(member, type) and issubclass(member, BaseModel) else ()
    return any(get_origin(f.annotation) is Literal and tag in get_args(f.annotation) for f in fields)
