"""Rating files of every kind of part; the bench tests some kinds only, and says so of the others."""

from pathlib import Path

from pulldrop.model.limit import Source
from pulldrop.model.part.kinds import RATINGS, TESTED, UNSAID, not_tested
from pulldrop.model.part.rating import KindRating, Rating
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.text.document import Value, read
from pulldrop.text.problem import BadText, Problem
from pulldrop.text.shape import fit_kind

NO_FIGURES = ("rating", "title", "source", "kind", "figures", "notes")


def load_any_rating(path: Path) -> KindRating:
    """The rating in a file, of whatever kind. Raises BadText with every problem of it."""
    return fit_kind(read(path), RATINGS, UNSAID)


def load_rating(path: Path) -> KindRating:
    """The rating in a file, of a part that this bench tests. Raises BadText, or DoesNotFit for another kind."""
    found = load_any_rating(path)
    if found.kind not in TESTED:
        raise DoesNotFit(not_tested(f"the part of the rating '{found.rating}'", found.kind))
    return found


def load_relay(path: Path) -> Rating:
    """The rating of a relay in a file. Raises BadText, or DoesNotFit for another kind."""
    found = load_rating(path)
    if not isinstance(found, Rating):
        raise DoesNotFit(f"the rating '{found.rating}' is for {found}; expected one of a relay")
    return found


def in_words(path: Path) -> tuple[KindRating, tuple[tuple[str, str, Source | None], ...]]:
    """A rating, and its figures: what each is, as the file has it, and a source of its own. Raises BadText."""
    document, found = read(path), load_any_rating(path)
    own = getattr(found, "figures", {})
    written = document.value if isinstance(document.value, dict) else {}
    rows = (
        (field.description or name, _words(written[name]), own.get(name))
        for name, field in type(found).model_fields.items()
        if name in written and name not in NO_FIGURES
    )
    return found, tuple(rows)


def _words(written: Value) -> str:
    """A figure as its file has it: `90 ohm`, `most 300 mV, at 10 A`, `park: 30-58`."""
    if isinstance(written, dict):
        apart = any(isinstance(one, list) for one in written.values())
        return (
            "; ".join(f"{key}: {_words(one)}" for key, one in written.items())
            if apart
            else ", ".join(f"{key} {_words(one)}" for key, one in written.items())
        )
    return " and ".join(map(str, written)) or "none" if isinstance(written, list) else str(written)


def check_rating(path: Path) -> list[Problem] | KindRating:
    """Every problem of a rating file, or the rating."""
    try:
        return load_any_rating(path)
    except BadText as bad:
        return bad.problems
