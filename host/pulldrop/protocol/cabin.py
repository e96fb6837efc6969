"""The cabins in which wires are hunted, by name or file."""

from pulldrop.model.hunt.cabin import Cabin
from pulldrop.protocol.shipped.library import find_cabin
from pulldrop.text.document import read
from pulldrop.text.shape import fit


def cabin(name_or_path: str) -> Cabin:
    """A cabin. Raises UnknownName, and BadText with every problem of its file."""
    return fit(read(find_cabin(name_or_path)), Cabin)
