"""Every problem of a protocol file, for all systems and classes of parts at once."""

from collections.abc import Iterator
from pathlib import Path

from pulldrop.model.run.plan import Plan
from pulldrop.protocol.bind import bind
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.load import load_protocol
from pulldrop.protocol.ratings.classes import classes_of
from pulldrop.protocol.system import IN_SERVICE_V
from pulldrop.text.document import Document, read
from pulldrop.text.problem import BadText, Problem


def check(path: Path) -> list[Problem] | tuple[Plan, ...]:
    """Every problem of a protocol file, or the plans for the classes of parts that it suits, one at least."""
    try:
        document = read(path)
    except BadText as bad:
        return bad.problems
    plans, misfits, problems = list[Plan](), list[Problem](), list[Problem]()
    for nominal_v in IN_SERVICE_V:
        try:
            plans += _plans(document, nominal_v, misfits)
        except BadText as bad:
            problems += bad.problems
    if problems or not plans:
        return BadText(problems or misfits).problems
    return tuple(plans)


def _plans(document: Document, nominal_v: float, misfits: list[Problem]) -> Iterator[Plan]:
    loaded = load_protocol(document, nominal_v)
    for rating in classes_of(loaded.protocol.kind):
        if rating.system_v == nominal_v:
            try:
                yield bind(loaded.protocol, rating, loaded.text, loaded.left_out)
            except DoesNotFit as misfit:
                misfits.append(document.problem(("steps",), str(misfit), at_key=True))
