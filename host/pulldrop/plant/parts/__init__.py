"""Virtual parts by kind, one a file: each gives the SPECIMEN of its kind.

Relays are fed and loaded, parts with two terminals loaded, switches lie on the scan's lines.
"""

from functools import reduce
from importlib import import_module
from operator import or_
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Annotated, get_args

from pydantic import Discriminator

from pulldrop.plant.shape import KindSpecimen

_FILES = [import_module(f"{__name__}.{one.name}") for one in iter_modules(__path__)]
SPECIMENS: dict[str, type[KindSpecimen]] = {
    get_args(one.SPECIMEN.model_fields["kind"].annotation)[0]: one.SPECIMEN for one in _FILES
}
"""By kind, as files name it."""

if TYPE_CHECKING:
    AnySpecimen = KindSpecimen
else:
    AnySpecimen = Annotated[reduce(or_, SPECIMENS.values()), Discriminator("kind")]
