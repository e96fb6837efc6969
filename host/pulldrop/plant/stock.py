"""The specimens that ship with pulldrop: every one invented, from the retired fleet of an invented bus depot."""

from importlib.resources import files

_FILES = {
    file.name.removesuffix(".yaml"): file
    for folder in files("pulldrop.plant").joinpath("stock").iterdir()
    for file in folder.iterdir()
    if file.name.endswith(".yaml")
}
"""By name; the folders say what is wrong: nothing, the coil, the contacts or the armature."""


def names() -> tuple[str, ...]:
    """Names of all specimens in stock, in order of the alphabet."""
    return tuple(sorted(_FILES))


def text(name: str) -> str:
    """The YAML of one specimen. Raises KeyError when there is none of that name."""
    return _FILES[name].read_text(encoding="utf-8")
