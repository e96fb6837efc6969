"""The protocols and ratings that ship with pulldrop, found by name, and other people's, found by path."""

from difflib import get_close_matches
from pathlib import Path

import pulldrop
from pulldrop.protocol.errors import UnknownName

_PACKAGE = Path(pulldrop.__file__).parent
_INSTALLED = _PACKAGE / "protocols"
FOLDER = _INSTALLED if _INSTALLED.is_dir() else _PACKAGE.parents[1] / "protocols"
"""Beside the code when installed; the top-level `protocols/` when run from a clone (see pyproject.toml)."""
SUFFIXES = (".yaml", ".yml")


def names() -> tuple[str, ...]:
    """Names of the shipped protocols, in order."""
    return _names_in(FOLDER)


def rating_names() -> tuple[str, ...]:
    """Names of the shipped ratings, in order."""
    return _names_in(FOLDER / "ratings")


def crate_names() -> tuple[str, ...]:
    """Names of the shipped protocols of crates, in order."""
    return _names_in(FOLDER / "crates")


def find(name_or_path: str) -> Path:
    """The file of a shipped protocol's name, or of a path. Raises UnknownName."""
    return _find(name_or_path, FOLDER, "protocol")


def find_rating(name_or_path: str) -> Path:
    """The file of a rating. Raises UnknownName."""
    return _find(name_or_path, FOLDER / "ratings", "rating")


def find_crate(name_or_path: str) -> Path:
    """The file of a crate's protocol. Raises UnknownName."""
    return _find(name_or_path, FOLDER / "crates", "crate protocol")


def _names_in(folder: Path) -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in folder.glob("*.yaml")))


def _is_path(name_or_path: str) -> bool:
    return name_or_path.endswith(SUFFIXES) or "/" in name_or_path or "\\" in name_or_path


def _find(name_or_path: str, folder: Path, kind: str) -> Path:
    known = _names_in(folder)
    if name_or_path in known:
        return folder / f"{name_or_path}.yaml"
    if Path(name_or_path).is_file():
        return Path(name_or_path)
    if _is_path(name_or_path):
        raise UnknownName(f"there is no {kind} file '{name_or_path}'; expected a path to a YAML file")
    near = get_close_matches(name_or_path, known, 1) or [name for name in known if name_or_path in name]
    hint = f"did you mean '{near[0]}'?" if near else f"shipped are {', '.join(known)}"
    raise UnknownName(f"there is no {kind} '{name_or_path}'; {hint}")
