"""The settings of every step, one kind a file; a file here and one of its name in `measure/steps` make a new kind."""

from functools import reduce
from importlib import import_module
from operator import or_
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.relay import FORMS, Form
from pulldrop.model.step import Step


def _settings(kind: str) -> type[Step]:
    """The one class of settings in the file of that kind."""
    module = import_module(f"{__name__}.{kind}")
    (found,) = (one for one in vars(module).values() if isinstance(one, type) and one.__module__ == module.__name__)
    assert issubclass(found, Step), f"{module.__name__} holds no Step"
    return found


STEPS: dict[str, type[Step]] = {one.name: _settings(one.name) for one in iter_modules(__path__)}
"""Settings by kind, which is the file's name and what a protocol writes behind `measure:`."""

if TYPE_CHECKING:
    AnyStep = Step
else:
    AnyStep = Annotated[reduce(or_, STEPS.values()), Field(discriminator="measure")]
"""What a protocol's list of steps holds."""


def yields(step: str | Step, form: Form) -> tuple[str, ...]:
    """Ids that a step, or with all its settings one of a kind, gives for a part of this contact form."""
    pairs = set(FORMS[form].pairs)
    return tuple(
        id
        for id in (STEPS[step].gives if isinstance(step, str) else step.asked)
        if set(MEASUREMENTS[id].needs) <= pairs
    )
