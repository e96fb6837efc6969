"""Protocol and rating files, read with all their problems, and the way from two names to a plan."""

from dataclasses import dataclass
from pathlib import Path

from pulldrop.model.run.plan import Plan
from pulldrop.protocol import library, rules
from pulldrop.protocol.bind import bind
from pulldrop.protocol.errors import DoesNotFit, UnknownName
from pulldrop.protocol.ratings import load_rating
from pulldrop.protocol.shape import Protocol
from pulldrop.text.document import Document, read
from pulldrop.text.problem import BadText, Problem
from pulldrop.text.shape import try_fit


@dataclass(frozen=True, slots=True)
class Loaded:
    """A protocol and the document that it came from."""

    protocol: Protocol
    document: Document


def load_protocol(path: Path) -> Loaded:
    """The protocol in a file. Raises BadText with every problem of it."""
    document = read(path)
    problems, protocol = try_fit(document, Protocol)
    problems += rules.problems(document)
    if problems or protocol is None:
        raise BadText(problems)
    return Loaded(protocol, document)


def plan(protocol: str, rating: str | None = None) -> Plan:
    """The plan for two names or paths; without a rating, the protocol's own.

    Raises UnknownName, DoesNotFit, or BadText.
    """
    path = library.find(protocol)
    loaded = load_protocol(path)
    if rating:
        named = library.find_rating(rating)
    else:
        try:
            named = library.find_rating(loaded.protocol.rating, beside=path.parent)
        except UnknownName as error:
            raise BadText([loaded.document.problem(("rating",), str(error))]) from error
    return bind(loaded.protocol, load_rating(named), loaded.document.text)


def check(path: Path) -> list[Problem] | Plan:
    """Every problem of a protocol file, or the plan that it makes with its own rating."""
    try:
        loaded = load_protocol(path)
    except BadText as bad:
        return bad.problems
    try:
        rating = load_rating(library.find_rating(loaded.protocol.rating, beside=path.parent))
        return bind(loaded.protocol, rating, loaded.document.text)
    except BadText as bad:
        return bad.problems
    except (UnknownName, DoesNotFit) as error:
        return [loaded.document.problem(("rating",), str(error))]


def is_rating(path: Path) -> bool:
    """Whether a file is a rating rather than a protocol: that names one, and has steps and a name of its own."""
    try:
        value = read(path).value
    except BadText:
        return False
    return isinstance(value, dict) and "rating" in value and not {"protocol", "steps", "crate"} & value.keys()
