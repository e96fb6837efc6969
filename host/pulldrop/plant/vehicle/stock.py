"""The vehicles that ship with pulldrop: every one invented."""

from importlib.resources import files

_FOLDER = files("pulldrop.plant.vehicle").joinpath("vehicles")


def names() -> tuple[str, ...]:
    """Names of all vehicles, in order of the alphabet."""
    return tuple(sorted(file.name.removesuffix(".yaml") for file in _FOLDER.iterdir() if file.name.endswith(".yaml")))


def text(name: str) -> str:
    """The YAML of one vehicle. Raises KeyError when there is none of that name."""
    if name not in names():
        raise KeyError(name)
    return _FOLDER.joinpath(f"{name}.yaml").read_text(encoding="utf-8")
