"""Kinds of part, one a file: each gives its PART and its RATING, both with their `kind`.

Rule: a kind is found by its file, and knows nothing of another kind.
"""

from functools import reduce
from importlib import import_module
from operator import or_
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Annotated, Literal, get_args

from pydantic import Discriminator, TypeAdapter

from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import KindRating
from pulldrop.model.raw import LATER

_FILES = [import_module(f"{__name__}.{one.name}") for one in iter_modules(__path__)]
PARTS: dict[str, type[Part]] = {get_args(one.PART.model_fields["kind"].annotation)[0]: one.PART for one in _FILES}
RATINGS: dict[str, type[KindRating]] = {kind: one.RATING for kind, one in zip(PARTS, _FILES, strict=True)}
"""By kind, as files and records name it."""
TESTED = tuple(kind for kind, one in PARTS.items() if one.command)
"""Kinds whose ratings protocols bind to; a file of another kind is read, checked and shown."""
UNSAID = "relay"
"""Kind of part of a file that names none."""

if TYPE_CHECKING:
    AnyPart = Part
    AnyRating = KindRating
    TestedKind = str
else:
    TestedKind = Literal[TESTED]
    AnyPart = Annotated[reduce(or_, PARTS.values()), Discriminator("kind")]
    AnyRating = Annotated[reduce(or_, RATINGS.values()), Discriminator("kind")]

PART: TypeAdapter[Part] = TypeAdapter(AnyPart, config=LATER)


def not_tested(what: str, kind: str) -> str:
    """Why a part of another kind is not tested, as a sentence."""
    *others, last = (PARTS[kind].plural for kind in TESTED)
    tested = f"{', '.join(others)} and {last}"
    return f"{what} is {PARTS[kind].noun}; this bench tests {tested} now, and no other kind"


def how_to_use(kind: str, name: str) -> str:
    """The command that tests against a rating of this kind and name; or why none does, as a sentence."""
    command = PARTS[kind].command
    return f"pulldrop {command} --rating {name}" if command else f"{not_tested('It', kind)}."


def how_to_test(part: Part) -> str:
    """The command that tests a kept part, or why none does, as a sentence."""
    return f"Test it: pulldrop {part.command} --part {part.id}" if part.command else f"{not_tested('It', part.kind)}."
