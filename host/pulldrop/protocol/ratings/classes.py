"""Ratings of classes of parts, found by what stands in them and not by their names."""

from functools import cache
from typing import get_args

from pulldrop.model.part.kinds import UNSAID
from pulldrop.model.part.rating import Build, KindRating, Rating
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.ratings.files import load_rating
from pulldrop.protocol.shipped import library


@cache
def classes_of(kind: str) -> tuple[KindRating, ...]:
    """The shipped ratings of this kind of part that no single maker's sheet narrows."""
    every = (load_rating(library.find_rating(name)) for name in library.rating_names(kind))
    return tuple(one for one in every if one.of_a_class)


@cache
def classes() -> tuple[Rating, ...]:
    """Those of relays, the commonest build first."""
    order = get_args(Build)
    relays = [one for one in classes_of(UNSAID) if isinstance(one, Rating)]
    return tuple(sorted(relays, key=lambda one: order.index(one.any_maker)))


def class_of(form: Form, nominal_v: float) -> Rating:
    """The commonest class of such relays. Raises UnknownName when none is known."""
    for one in classes():
        if (one.form, one.nominal) == (form, nominal_v):
            return one
    raise UnknownName(f"no class of relays of {FORMS[form].called} and {nominal_v:g} V is known; name a rating")
