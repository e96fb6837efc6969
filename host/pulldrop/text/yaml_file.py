"""The two doors of this room: a YAML file, or a YAML text, as a pydantic shape, or BadText with all its problems."""

from pathlib import Path

from pulldrop.text.document import parse, read
from pulldrop.text.shape import Shape, fit


def load(path: Path, shape: type[Shape]) -> Shape:
    """The file as a `shape`. Raises BadText; nothing else comes out of a bad file."""
    return fit(read(path), shape)


def loads(text: str, name: str, shape: type[Shape]) -> Shape:
    """The text as a `shape`; `name` stands in its problems."""
    return fit(parse(text, name), shape)
