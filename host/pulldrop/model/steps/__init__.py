"""The settings of every step, one kind a file; a file here and one of its name in `measure/steps` make a new kind.

Rule: the folders (coil, contacts, looks at a few mA) are the same in both; no kind of step knows its folder."""

from functools import reduce
from importlib import import_module
from operator import or_
from pkgutil import walk_packages
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.rating import KindRating, Rating
from pulldrop.model.part.relay import FORMS
from pulldrop.model.step import Step


def _settings(file: str) -> type[Step]:
    """The one class of settings in that file."""
    module = import_module(file)
    (found,) = (one for one in vars(module).values() if isinstance(one, type) and one.__module__ == module.__name__)
    assert issubclass(found, Step), f"{module.__name__} holds no Step"
    return found


_FILES = {one.name.rpartition(".")[2]: one.name for one in walk_packages(__path__, f"{__name__}.") if not one.ispkg}

STEPS: dict[str, type[Step]] = {kind: _settings(_FILES[kind]) for kind in sorted(_FILES)}
"""Settings by kind, which is the file's name and what a protocol writes behind `measure:`."""

if TYPE_CHECKING:
    AnyStep = Step
else:
    AnyStep = Annotated[reduce(or_, STEPS.values()), Field(discriminator="measure")]
"""What a protocol's list of steps holds."""


def yields(step: str | Step, of: KindRating) -> tuple[str, ...]:
    """Ids that a step, or with all its settings one of a kind, gives for a part of this rating."""
    pairs = set(FORMS[of.form].pairs) if isinstance(of, Rating) else set()
    kind, asked = (STEPS[step], STEPS[step].gives) if isinstance(step, str) else (step, step.asked)
    return tuple(id for id in asked if of.sort in kind.kinds and set(MEASUREMENTS[id].needs) <= pairs)
