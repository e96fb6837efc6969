"""The specimens that ship with pulldrop: every one invented, from the retired fleet of an invented bus depot."""

from importlib.resources import files

_SHELF = files("pulldrop.plant").joinpath("stock")


def names() -> tuple[str, ...]:
    """Names of all specimens in stock, in order of the alphabet."""
    found = (file.name for file in _SHELF.iterdir())
    return tuple(sorted(name.removesuffix(".yaml") for name in found if name.endswith(".yaml")))


def text(name: str) -> str:
    """The YAML of one specimen. Raises KeyError when there is none of that name."""
    if name not in names():
        raise KeyError(name)
    return _SHELF.joinpath(f"{name}.yaml").read_text(encoding="utf-8")
