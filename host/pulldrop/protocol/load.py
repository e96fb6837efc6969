"""Protocol and rating files, read with all their problems, and the way from two names to a plan."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pulldrop.model.part.kinds import RATINGS
from pulldrop.model.part.rating import IN_SI, KindRating
from pulldrop.model.run.plan import Plan
from pulldrop.protocol import rules
from pulldrop.protocol.bind import bind
from pulldrop.protocol.ratings.files import load_rating
from pulldrop.protocol.shape import Protocol
from pulldrop.protocol.shipped import library
from pulldrop.protocol.system import for_system
from pulldrop.text.document import Document, parse, read
from pulldrop.text.problem import BadText
from pulldrop.text.shape import try_fit


@dataclass(frozen=True, slots=True)
class Loaded:
    """A protocol as it is for one system, and the steps that it leaves out there, by kind with the reason."""

    protocol: Protocol
    left_out: dict[str, str]
    text: str


def load_protocol(document: Document, nominal_v: float) -> Loaded:
    """The protocol in a document for parts of `nominal_v` volts. Raises BadText with every problem of it."""
    made = for_system(document, nominal_v)
    problems, protocol = try_fit(made.document, Protocol)
    problems += rules.problems(made.document, made.left_out)
    if problems or protocol is None:
        raise BadText(problems)
    return Loaded(protocol, made.left_out, document.text)


def plan(protocol: str, rating: KindRating | str) -> Plan:
    """The plan for a protocol and a rating, by their names or paths. Raises UnknownName, DoesNotFit, or BadText."""
    if isinstance(rating, str):
        rating = load_rating(library.find_rating(rating))
    loaded = load_protocol(read(library.find(protocol)), rating.system_v)
    return bind(loaded.protocol, rating, loaded.text, loaded.left_out)


def bound_again(text: str, rating: KindRating) -> Plan:
    """The plan for the text of a protocol and a rating, as a record keeps both. Raises DoesNotFit, or BadText."""
    return _bound_again(text, rating.kind, rating.model_dump_json())


@lru_cache(maxsize=64)
def _bound_again(text: str, kind: str, rating: str) -> Plan:
    of = RATINGS[kind].model_validate_json(rating, context=IN_SI)
    loaded = load_protocol(parse(text, "its protocol"), of.system_v)
    return bind(loaded.protocol, of, text, loaded.left_out)


def is_rating(path: Path) -> bool:
    """Whether a file is a rating rather than a protocol, which has steps and a name of its own."""
    try:
        value = read(path).value
    except BadText:
        return False
    return isinstance(value, dict) and "rating" in value and not {"protocol", "steps", "crate"} & value.keys()
