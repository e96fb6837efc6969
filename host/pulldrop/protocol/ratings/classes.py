"""Ratings of classes of parts, found by what stands in them and not by their names."""

from functools import cache
from typing import get_args

from pulldrop.model.part.kinds import PARTS
from pulldrop.model.part.rating import Build, KindRating, Rating
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.ratings.files import load_rating, load_relay
from pulldrop.protocol.shipped import library


@cache
def classes() -> tuple[Rating, ...]:
    """The shipped ratings that no single maker's sheet narrows, the commonest build first."""
    every = (load_relay(library.find_rating(name)) for name in library.rating_names())
    order = get_args(Build)
    return tuple(sorted((one for one in every if one.any_maker), key=lambda one: order.index(one.any_maker)))


@cache
def pairs() -> tuple[KindRating, ...]:
    """The shipped ratings of fuses and lamps."""
    return tuple(load_rating(library.find_rating(name)) for name in library.pair_names())


def class_of(kind: str, form: Form, nominal_v: float) -> Rating:
    """The commonest class of such parts. Raises UnknownName when none is known."""
    for one in classes():
        if (one.kind, one.form, one.nominal) == (kind, form, nominal_v):
            return one
    raise UnknownName(
        f"no class of {PARTS[kind].plural} of {FORMS[form].called} and {nominal_v:g} V is known; name a rating"
    )
