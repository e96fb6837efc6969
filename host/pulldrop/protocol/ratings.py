"""Rating files of every kind of part; the bench tests some kinds only, and says so of the others."""

from pathlib import Path

from pulldrop.model.part.kind import not_tested
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.switch import SwitchRating
from pulldrop.model.part.two_terminal import TwoTerminalRating
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.text.document import read
from pulldrop.text.problem import BadText, Problem
from pulldrop.text.shape import fit_kind

AnyRating = Rating | SwitchRating | TwoTerminalRating
SHAPES: dict[str, type[AnyRating]] = {"relay": Rating, "switch": SwitchRating, "two-terminal": TwoTerminalRating}


def load_any_rating(path: Path) -> AnyRating:
    """The rating in a file, of whatever kind. Raises BadText with every problem of it."""
    return fit_kind(read(path), SHAPES, "relay")


def load_rating(path: Path) -> Rating:
    """The rating in a file, of a part that this bench tests. Raises BadText, or DoesNotFit for another kind."""
    found = load_any_rating(path)
    if not isinstance(found, Rating):
        raise DoesNotFit(not_tested(f"the part of the rating '{found.rating}'", found.kind))
    return found


def check_rating(path: Path) -> list[Problem] | AnyRating:
    """Every problem of a rating file, or the rating."""
    try:
        return load_any_rating(path)
    except BadText as bad:
        return bad.problems
