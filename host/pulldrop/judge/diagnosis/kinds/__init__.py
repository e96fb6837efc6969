"""Kinds of part beside the relay whose faults are named, one a file: each gives its KIND and `named`.

Rule: a kind is found by its file, and knows nothing of another kind.
"""

from collections.abc import Iterable
from importlib import import_module
from pkgutil import iter_modules
from typing import Any, Protocol

from pulldrop.model.part.rating import KindRating
from pulldrop.model.reading import Finding
from pulldrop.model.run.fault import NamedFault


class Named(Protocol):
    """What is wrong with a part, the most probable first; `failed`: a limit was missed, so that it is not sound."""

    def __call__(self, rating: KindRating, findings: Iterable[Finding], failed: bool) -> tuple[NamedFault, ...]: ...


_FILES: list[Any] = [import_module(f"{__name__}.{one.name}") for one in iter_modules(__path__)]
NAMED: dict[str, Named] = {one.KIND: one.named for one in _FILES}
"""By kind of part."""
